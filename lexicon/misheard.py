"""What recognisers write for words of the trade: the shipped list, and the club's own, learned in the data home."""

import os
import re
import tempfile
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import yaml

from lexicon.errors import LexiconError
from lexicon.yaml_files import read_yaml

_WORDS = re.compile(r"[a-z][a-z'-]*(?: [a-z][a-z'-]*){0,3}")


@dataclass(frozen=True, slots=True)
class Mishearing:
    """`said` was said where `heard` is written, save inside an `unless` phrase. Small letters, 1 to 4 words."""

    heard: str
    said: str
    unless: tuple[str, ...] = ()


@cache
def shipped_mishearings() -> tuple[Mishearing, ...]:
    """The hand-checked list."""
    text = (files("lexicon") / "data" / "misheard.yaml").read_text(encoding="utf-8")
    return _read(text, "misheard.yaml")


def read_mishearings(path: Path) -> tuple[Mishearing, ...]:
    """The club's mishearings; none where there is no such file. Raises LexiconError by file and line."""
    try:
        return _read(path.read_text(encoding="utf-8-sig"), str(path))
    except (FileNotFoundError, NotADirectoryError):
        return ()
    except (OSError, UnicodeDecodeError) as error:
        raise LexiconError(f'Cannot read "{path}" ({error}); it must be a UTF-8 text') from None


def teach(path: Path, heard: str, said: str) -> Mishearing | None:
    """Keep that `said` was said where `heard` is written; the mishearing that this replaces, if there was one.

    Raises LexiconError for what is no mishearing, and where the file cannot be read or written.
    """
    new = checked(heard, said)
    known = read_mishearings(path)
    if any(m.heard == new.said and m.said == new.heard for m in known):
        raise LexiconError(
            f'"{new.said}" is already taken for a mishearing of "{new.heard}"; remove that from {path} first'
        )
    kept = [m for m in known if m.heard != new.heard]
    rows = [{"heard": [m.heard], "said": m.said, "unless": list(m.unless)} for m in (*kept, new)]
    text = "# Learned by `tapeside lexicon hear`; delete an entry to undo it.\n"
    write_whole(path, text + yaml.safe_dump([_bare(row) for row in rows], sort_keys=False, allow_unicode=True))
    return next((m for m in known if m.heard == new.heard), None)


def checked(heard: str, said: str) -> Mishearing:
    """The mishearing in small letters and single spaces. Raises LexiconError saying why it is none."""
    wrong, right = (" ".join(text.lower().replace("’", "'").split()) for text in (heard, said))
    for text in (wrong, right):
        if not _WORDS.fullmatch(text):
            raise LexiconError(
                f'"{text}" must be one to four words of letters, such as: tapeside lexicon hear "tip" "teep"'
            )
    if wrong == right:
        raise LexiconError(f'"{wrong}" and "{right}" are the same; name what was written, then what was said')
    if len(wrong) < 3 or wrong in _TOO_COMMON:
        raise LexiconError(f'"{wrong}" is too common a word to be exchanged everywhere; name a longer phrase with it')
    return Mishearing(wrong, right)


# Exchanging one of these would spoil every transcript.
_TOO_COMMON = frozenset(
    "the and you your yours his her hers him she they them their our out for from with that this these those there then"
    " than not don't can't was were are is has had have did does will would could should just like when what who where"
    " how why all any one two three four five six seven eight nine ten hand hands head foot feet left right good back"
    " down off over again look nice yeah okay".split()
)


def _read(text: str, name: str) -> tuple[Mishearing, ...]:
    located = read_yaml(text, name, LexiconError)
    found = []
    for index, row in enumerate(located.data or []):
        where = f"{name}:{located.line((index,))}"
        if not isinstance(row, dict) or not {"heard", "said"} <= set(row) or set(row) - {"heard", "said", "unless"}:
            raise LexiconError(
                f"{where}: a mishearing is {{heard: [tip], said: teep}}, with unless: [tip of] if need be"
            )
        heard, said, unless = row["heard"], row["said"], row.get("unless", [])
        heard = [heard] if isinstance(heard, str) else heard
        if not isinstance(said, str) or not _texts(heard) or not _texts(unless):
            raise LexiconError(f'{where}: "said" must be a text, "heard" and "unless" lists of texts')
        found += [Mishearing(one.lower(), said.lower(), tuple(u.lower() for u in unless)) for one in heard]
    return tuple(found)


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) and item.strip() for item in value)


def _bare(row: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if value}


def write_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all. Raises LexiconError where that fails."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, prefix=".new-", delete=False) as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        Path(out.name).replace(path)
    except OSError as error:
        raise LexiconError(
            f'Cannot write "{path}" ({error.strerror}); free some space or mend its permissions'
        ) from None
