"""YAML read strictly: every scalar stays text, repeated keys are refused, every value knows its line.

Under YAML 1.1 `no` is False, `1:30` is 90 and a repeated key silently wins; none of that may happen to a
coach's words or a sheet, so the node tree is walked here and types are left to the schema behind it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import yaml

Path = tuple[str | int, ...]
_NULLS = {"", "~", "null", "Null", "NULL"}


@dataclass(frozen=True, slots=True)
class Located:
    """Data from one YAML text and the 1-based line of each key or item, by its path from the root."""

    data: Any
    lines: dict[Path, int] = field(repr=False)

    def line(self, path: Path) -> int:
        """The line of the value at `path`, or of its nearest ancestor that has one."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


def read_yaml(text: str, name: str, error: Callable[[str], Exception]) -> Located:
    """The data of one YAML text. Raises `error("name:line: …")` when it is not YAML or repeats a key."""
    try:
        node = yaml.compose(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    except yaml.MarkedYAMLError as bad:
        mark = bad.problem_mark or bad.context_mark
        line = mark.line + 1 if mark else 1
        raise error(f"{name}:{line}: not valid YAML ({bad.problem or bad.context}); mend that line") from None
    except yaml.YAMLError as bad:
        raise error(f"{name}: not valid YAML ({str(bad).splitlines()[0]})") from None
    except RecursionError:
        raise error(f"{name}: not valid YAML (nested too deep)") from None
    lines: dict[Path, int] = {(): 1}
    return Located(_value(node, (), lines, name, error) if node else None, lines)


def _value(node: Any, path: Path, lines: dict[Path, int], name: str, error: Callable[[str], Exception]) -> Any:
    if len(path) > 20:
        raise error(f"{name}:{node.start_mark.line + 1}: nested too deep; an anchor that holds itself?")
    if isinstance(node, yaml.ScalarNode):
        return None if node.style is None and node.value in _NULLS else node.value
    if isinstance(node, yaml.SequenceNode):
        for index, item in enumerate(node.value):
            lines[*path, index] = item.start_mark.line + 1
        return [_value(item, (*path, index), lines, name, error) for index, item in enumerate(node.value)]
    result: dict[str, Any] = {}
    for key_node, value_node in node.value:
        line = key_node.start_mark.line + 1
        if not isinstance(key_node, yaml.ScalarNode):
            raise error(f"{name}:{line}: a key must be a plain word")
        key = key_node.value
        if key in result:
            raise error(f'{name}:{line}: key "{key}" stands twice in one place; keep one')
        lines[*path, key] = line
        result[key] = _value(value_node, (*path, key), lines, name, error)
    return result
