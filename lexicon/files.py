"""Vocabulary files into entries, cues and word classes; anything unknown is refused by file and line."""

from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from rapidfuzz import fuzz, process

from lexicon.entries import Entry, OwnEntry, Telling
from lexicon.errors import LexiconError
from lexicon.patterns import Phrase
from lexicon.yaml_files import Located, read_yaml

EntryModel = TypeVar("EntryModel", bound=BaseModel)
ENTRY_FILES = ("techniques", "faults", "fixes", "welfare")


def shipped_texts() -> dict[str, str]:
    """Every shipped vocabulary file by its name, such as "faults/hands.yaml", in order of name."""
    return dict(sorted(_walk(files("lexicon") / "data", "")))


def _walk(folder: Traversable, prefix: str) -> Iterator[tuple[str, str]]:
    for item in folder.iterdir():
        if item.is_dir():
            yield from _walk(item, f"{prefix}{item.name}/")
        elif item.name.endswith(".yaml"):
            yield f"{prefix}{item.name}", item.read_text(encoding="utf-8")


def read_entries(texts: dict[str, str]) -> dict[str, Entry]:
    """All entries by id. Raises LexiconError where one is malformed or an id stands twice."""
    entries: dict[str, Entry] = {}
    for name, text in texts.items():
        if name.split("/")[0].removesuffix(".yaml") not in ENTRY_FILES:
            continue
        for entry, line in _read_list(text, name, Entry):
            if entry.id in entries:
                raise LexiconError(f'{name}:{line}: id "{entry.id}" stands twice; give this entry another')
            entries[entry.id] = entry
    for id_, telling in _read_tellings(texts):
        if id_ not in entries:
            raise LexiconError(f'telling.yaml: nothing in the lexicon is called "{id_}"')
        entries[id_] = entries[id_].model_copy(update=telling.model_dump(exclude_unset=True))
    return entries


def _read_tellings(texts: dict[str, str]) -> Iterator[tuple[str, Telling]]:
    located = read_yaml(texts.get("telling.yaml", ""), "telling.yaml", LexiconError)
    for id_, told in (located.data or {}).items():
        try:
            yield id_, Telling.model_validate(told)
        except ValidationError as error:
            raise LexiconError(f'telling.yaml:{located.line((id_,))}: "{id_}": {error.errors()[0]["msg"]}') from None


def read_own_entries(path: Path) -> list[tuple[OwnEntry, int]]:
    """The owner's entries with their lines; none where there is no such file."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (FileNotFoundError, NotADirectoryError):
        return []
    except (OSError, UnicodeDecodeError) as error:
        raise LexiconError(f'Cannot read the vocabulary "{path}" ({error}); it must be a UTF-8 text') from None
    return list(_read_list(text, str(path), OwnEntry))


def read_lists(texts: dict[str, str], prefix: str) -> dict[str, tuple[str, ...]]:
    """Named lists of patterns or phrases from every file whose name starts with `prefix`."""
    lists: dict[str, tuple[str, ...]] = {}
    for name, text in texts.items():
        if not name.startswith(prefix):
            continue
        located = read_yaml(text, name, LexiconError)
        for key, value in (located.data or {}).items():
            if key in lists:
                raise LexiconError(f'{name}:{located.line((key,))}: list "{key}" stands in another file too')
            if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
                raise LexiconError(f'{name}:{located.line((key,))}: "{key}" must be a list of texts')
            lists[key] = tuple(value)
    return lists


def read_classes(texts: dict[str, str]) -> dict[str, tuple[Phrase, ...]]:
    """Word classes as phrases. A member "@other" brings in all of that class, which must stand before it."""
    classes: dict[str, tuple[Phrase, ...]] = {}
    for key, members in read_lists(texts, "words").items():
        phrases: list[Phrase] = []
        for member in members:
            if member.startswith("@"):
                if member[1:] not in classes:
                    raise LexiconError(f'words.yaml: class "{key}" names "{member}", which must stand before it')
                phrases.extend(classes[member[1:]])
            else:
                phrases.append(tuple(member.replace("-", " ").split()))
        classes[key] = tuple(dict.fromkeys(phrases))
    return classes


def _read_list(text: str, name: str, model: type[EntryModel]) -> Iterator[tuple[EntryModel, int]]:
    located = read_yaml(text, name, LexiconError)
    if located.data is None:
        return
    if not isinstance(located.data, list):
        raise LexiconError(f'{name}:1: a vocabulary file is a list of entries, each starting with "- id: …"')
    for index, item in enumerate(located.data):
        line = located.line((index,))
        try:
            yield model.model_validate(item), line
        except ValidationError as error:
            raise LexiconError(_first_fault(error, located, index, item, name, model)) from None


def _first_fault(
    error: ValidationError, located: Located, index: int, item: Any, name: str, model: type[BaseModel]
) -> str:
    faults = error.errors()
    fault = next((f for f in faults if f["type"] == "extra_forbidden"), faults[0])
    key = str(fault["loc"][0]) if fault["loc"] else "entry"
    entry = item.get("id", index + 1) if isinstance(item, dict) else index + 1
    where = f"{name}:{located.line((index, *fault['loc']))}"
    if fault["type"] == "extra_forbidden":
        near = process.extractOne(key, list(model.model_fields), scorer=fuzz.ratio, score_cutoff=60)
        guess = f'; did you mean "{near[0]}"?' if near else ""
        return f'{where}: unknown key "{key}" in entry "{entry}"{guess}'
    if fault["type"] == "missing":
        return f'{where}: entry "{entry}" lacks the key "{key}"'
    return f'{where}: "{key}" in entry "{entry}": {fault["msg"]}'
