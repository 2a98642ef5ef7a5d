"""What another reading would change in a log. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from notes.archive.verdicts import Entry, likeness
from notes.model import Observation

# Fields whose change a person would see.
_SEEN = ("techniques", "faults", "fixes", "why", "footage_ms", "round", "again", "quote")


@dataclass(frozen=True, slots=True)
class Difference:
    """Entries that are new, that are gone, and that say something else, with how they were before."""

    new: tuple[Observation, ...]
    gone: tuple[Observation, ...]
    changed: tuple[tuple[Observation, Observation], ...]

    def __bool__(self) -> bool:
        return bool(self.new or self.gone or self.changed)


def difference(before: Sequence[Entry], after: Sequence[Entry], *, timed: bool) -> Difference:
    """Two logs of one recording compared, entry by entry, likest first; struck entries are in neither."""
    old, new = ([e.observation for e in log if e.verdict != "struck"] for log in (before, after))
    pairs = sorted(
        (-like, i, j)
        for i, a in enumerate(old)
        for j, b in enumerate(new)
        if (like := likeness(a, b, timed=timed)) is not None
    )
    left: dict[int, int] = {}
    for _, i, j in pairs:
        if i not in left and j not in left.values():
            left[i] = j
    right = set(left.values())
    return Difference(
        new=tuple(o for j, o in enumerate(new) if j not in right),
        gone=tuple(o for i, o in enumerate(old) if i not in left),
        changed=tuple((old[i], new[j]) for i, j in sorted(left.items()) if changed_fields(old[i], new[j])),
    )


def changed_fields(before: Observation, after: Observation) -> tuple[str, ...]:
    """The fields in which a person would see a change. Times of the talk and confidence are none."""
    return tuple(name for name in _SEEN if getattr(before, name) != getattr(after, name))
