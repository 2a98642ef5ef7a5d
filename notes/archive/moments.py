"""Notes that tell of one moment: the same thing seen once, however many recordings of the footage speak of it."""

from collections.abc import Iterable, Sequence

from notes.archive.entries import Kept

# A live remark begins when the coach has seen it, a memo reads a clock: so far apart lie tellings of one moment. A
# footage time must come as near to count as right where reading is measured.
SAME_MOMENT_MS = 3_000

Moment = tuple[Kept, ...]


def moments_of(notes: Iterable[Kept]) -> list[Moment]:
    """Notes on one thing (one athlete, kind and id) as moments, in the order of the notes.

    A note joins the earliest moment of its footage that began at most three seconds before it and that its own
    recording does not tell of yet: what is said twice in one recording was seen twice. Where the footage or the time on
    it is unknown, a note is a moment of its own.
    """
    notes = list(notes)
    found: list[list[int]] = []
    begun: dict[str, list[list[int]]] = {}
    for place in sorted(range(len(notes)), key=lambda p: _when(notes[p])):
        kept = notes[place]
        on = begun.setdefault(kept.shows.key, []) if kept.shows and kept.observation.footage_ms is not None else []
        moment = next((m for m in on if _is_told_by(kept, [notes[p] for p in m])), None)
        if moment is None:
            moment = []
            found.append(moment)
            on.append(moment)
        moment.append(place)
    return [tuple(notes[p] for p in sorted(moment)) for moment in sorted(found, key=min)]


def told_again(moments: Sequence[Moment]) -> str:
    """How many of them several recordings tell of, to stand behind a count; empty where none."""
    again = sum(len(moment) > 1 for moment in moments)
    return f" ({again} told again)" if again else ""


def _is_told_by(kept: Kept, moment: list[Kept]) -> bool:
    apart = (kept.observation.footage_ms or 0) - (moment[0].observation.footage_ms or 0)
    return apart <= SAME_MOMENT_MS and all(kept.recording_sha256 != other.recording_sha256 for other in moment)


def _when(kept: Kept) -> tuple[int, str, int, str]:
    o = kept.observation
    return o.footage_ms or 0, kept.recording_sha256, o.start_ms, o.id
