"""The owner's entries laid over the shipped ones."""

from lexicon.entries import Entry, OwnEntry
from lexicon.errors import LexiconError

_JOINED = ("say", "unless", "fixes", "techniques", "answers", "drills", "hits", "misses")
_MARKS = {"extends", "replaces", "removed"}


def lay_over(shipped: dict[str, Entry], own: list[tuple[OwnEntry, int]], name: str) -> dict[str, Entry]:
    """Shipped entries with the owner's added, extended, replaced or removed. `name` is the owner's file.

    Raises LexiconError for a known id without a mark, and for a mark on an unknown id.
    """
    entries = dict(shipped)
    for entry, line in own:
        marks = [mark for mark in sorted(_MARKS) if getattr(entry, mark)]
        where = f"{name}:{line}"
        if entry.id in entries and len(marks) != 1:
            raise LexiconError(
                f'{where}: "{entry.id}" is in the lexicon already; '
                'say one of "extends: true", "replaces: true", "removed: true", or choose another id'
            )
        if entry.id not in entries and marks:
            raise LexiconError(f'{where}: nothing in the lexicon is called "{entry.id}", so "{marks[0]}" has no sense')
        if entry.removed:
            del entries[entry.id]
        elif entry.extends:
            entries[entry.id] = _extend(entries[entry.id], entry)
        else:
            entries[entry.id] = _whole(entry, where)
    return entries


def _extend(entry: Entry, more: OwnEntry) -> Entry:
    joined = {key: (*getattr(entry, key), *getattr(more, key)) for key in _JOINED}
    said = {
        key: value
        for key in ("means", "why", "plain", "cue", "sign", "safety", "kind_of", "loose")
        if (value := getattr(more, key)) is not None
    }
    return Entry.model_validate(entry.model_dump() | joined | said)


def _whole(entry: OwnEntry, where: str) -> Entry:
    for key in ("sort", "means", "hits", "misses"):
        if not getattr(entry, key):
            raise LexiconError(f'{where}: the new entry "{entry.id}" lacks "{key}"')
    return Entry.model_validate(entry.model_dump(exclude=_MARKS, exclude_none=True))
