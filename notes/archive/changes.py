"""What a person may change of an observation, checked against the vocabulary."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, get_args

from rapidfuzz import process

from lexicon import Lexicon
from lexicon.entries import Sort
from notes.errors import BadCorrection
from notes.model import UNLISTED, Kind
from notes.times import read_clock

Changes = Mapping[str, Any]
_LISTS: dict[str, Sort] = {"techniques": "technique", "faults": "fault", "fixes": "fix"}
_SINGULAR = {sort: plural for plural, sort in _LISTS.items()}
KEYS = ("athlete", "kind", "technique", "fault", "fix", "why", "round", "footage", "again")


def read_changes(pairs: Iterable[str], lexicon: Lexicon) -> dict[str, Any]:
    """Changes typed as `key=value`: new values by the names of an observation's fields, times in ms.

    Lists are parted by commas; an empty value or "none" takes a value away. Raises BadCorrection.
    """
    changes: dict[str, Any] = {}
    for pair in pairs:
        typed, equals, value = pair.partition("=")
        key = _SINGULAR.get(typed.strip().lower(), typed.strip().lower())  # type: ignore[call-overload]
        if not equals:
            raise BadCorrection(f'"{pair}" is not a change; write it like fault=head-on-centreline')
        value = "" if value.strip().lower() == "none" else value.strip()
        if key in _LISTS:
            changes[key] = tuple(dict.fromkeys(_known_id(part, _LISTS[key], lexicon) for part in _parts(value)))
        elif key in _READERS:
            field, read = _READERS[key]
            changes[field] = read(value)
        else:
            near = process.extractOne(key, KEYS, score_cutoff=60)
            guess = f'; did you mean "{near[0]}"?' if near else f"; it is one of {', '.join(KEYS)}"
            raise BadCorrection(f'Nothing called "{typed}" can be changed{guess}')
    return changes


def check_ids(values: Changes, lexicon: Lexicon) -> None:
    """Raise BadCorrection where techniques, faults or fixes hold an id that the vocabulary does not know."""
    for field, sort in _LISTS.items():
        for one in values.get(field, ()):
            _known_id(one, sort, lexicon)


def _parts(value: str) -> list[str]:
    return [part.strip() for part in value.split(",") if part.strip()]


def _known_id(typed: str, sort: Sort, lexicon: Lexicon) -> str:
    name = "-".join(typed.lower().split())
    known = [entry.id for entry in lexicon.of_sort(sort)] + ([UNLISTED] if sort == "fault" else [])
    if name in known:
        return name
    near = process.extractOne(name, known, score_cutoff=60)
    guess = f'did you mean "{near[0]}"?' if near else 'see "tapeside lexicon list"'
    raise BadCorrection(f'No {sort} called "{typed}" in the vocabulary; {guess}')


def _athlete(value: str) -> str:
    if not value:
        raise BadCorrection("athlete= needs a name; an observation is always about somebody")
    return value


def _kind(value: str) -> str:
    if value not in get_args(Kind):
        raise BadCorrection(f'"{value}" is not a kind; it is one of {", ".join(get_args(Kind))}')
    return value


def _round(value: str) -> int | None:
    if not value:
        return None
    if not (value.isascii() and value.isdigit() and 1 <= int(value) <= 99):
        raise BadCorrection(f'"{value}" is not a round; write it like round=2')
    return int(value)


def _footage(value: str) -> int | None:
    try:
        return read_clock(value) if value else None
    except ValueError:
        raise BadCorrection(f'"{value}" is not a time of the footage; write it like footage=1:15') from None


def _again(value: str) -> bool:
    if value.lower() not in ("yes", "no", "true", "false"):
        raise BadCorrection(f'"{value}" is neither yes nor no; write it like again=yes')
    return value.lower() in ("yes", "true")


_READERS: dict[str, tuple[str, Callable[[str], Any]]] = {
    "athlete": ("athlete", _athlete),
    "kind": ("kind", _kind),
    "why": ("why", lambda value: value or None),
    "round": ("round", _round),
    "footage": ("footage_ms", _footage),
    "again": ("again", _again),
}
