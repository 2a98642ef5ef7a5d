"""How well two readers of one recording agree, beyond what chance would give.

Three questions, each with its own units. Detection: notes of athletes, paired as `scoring` pairs them. What sort of
moment it is: stretches of ten seconds for each athlete, labelled with the kind of the note that fills most of the
stretch, or "nothing". What was seen: pairs of notes, labelled with their first fault or technique. Intervals are
percentiles of 2,000 seeded resamples of the units. Stretches beside each other are alike, so their interval is somewhat
too narrow.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from notes.observations_json import ReadBack
from notes.scoring import Mark, score
from notes.times import to_ms

if TYPE_CHECKING:
    from numpy.typing import NDArray

STRETCH_MS = 10_000
NOTHING = "nothing"
NONE = "none"
SEED = 20260101
RESAMPLES = 2_000


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with 95 % limits; all None where it cannot be computed."""

    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Agreement:
    """Two readers' labels of the same units: the share that is equal, Cohen's kappa, Krippendorff's nominal alpha."""

    units: int
    equal: float | None
    kappa: Figure
    alpha: Figure


@dataclass(frozen=True, slots=True)
class Difference:
    """A note of one reader that the other has not (None), or a pair that names another fault or technique."""

    one: ReadBack | None
    other: ReadBack | None


@dataclass(frozen=True, slots=True)
class Compared:
    """Everything that is told of two readings. `differences` are in order of spoken time."""

    one: int
    other: int
    paired: int
    f1: Figure
    kinds: Agreement
    faults: Agreement
    techniques: Agreement
    differences: tuple[Difference, ...]


def compare_readings(one: Iterable[ReadBack], other: Iterable[ReadBack]) -> Compared:
    """Compare two readers' notes of one recording: those of athletes that are not struck and have spoken times."""
    left, right = _comparable(one), _comparable(other)
    pairs, alone, missed = _paired(left, right)
    faults = [(a, b) for a, b in pairs if a.kind == "fault"]
    differences = [Difference(a, b) for a, b in pairs if _first_fault(a) != _first_fault(b) or _named(a) != _named(b)]
    differences += [Difference(a, None) for a in alone] + [Difference(None, b) for b in missed]
    return Compared(
        one=len(left),
        other=len(right),
        paired=len(pairs),
        f1=_bootstrapped([len(pairs), len(alone), len(missed)], _f1),
        kinds=agreement(*_stretches(left, right)),
        faults=agreement([_first_fault(a) for a, _ in faults], [_first_fault(b) for _, b in faults]),
        techniques=agreement([_named(a) for a, _ in pairs], [_named(b) for _, b in pairs]),
        differences=tuple(sorted(differences, key=_start)),
    )


def agreement(one: Sequence[str], other: Sequence[str]) -> Agreement:
    """How well two readers' labels of the same units agree."""
    table = cross_table(one, other)
    equal = sum(a == b for a, b in zip(one, other, strict=True)) / len(one) if one else None
    return Agreement(len(one), equal, _bootstrapped(table, kappa), _bootstrapped(table, alpha))


def cross_table(one: Sequence[str], other: Sequence[str]) -> "NDArray[Any]":
    """Counts of units by the first reader's label (row) and the second's (column), labels sorted."""
    import numpy as np

    labels = sorted({*one, *other})
    table = np.zeros((len(labels), len(labels)))
    np.add.at(table, ([labels.index(a) for a in one], [labels.index(b) for b in other]), 1)
    return table


def kappa(tables: "NDArray[Any]") -> "NDArray[Any]":
    """Cohen's kappa of cross tables, shape (..., labels, labels); not a number where chance alone agrees wholly.

    Source: Cohen 1960, Educational and Psychological Measurement 20:37.
    """
    import numpy as np

    units = tables.sum((-2, -1))
    agreed = np.trace(tables, axis1=-2, axis2=-1)
    chance = (tables.sum(-1) * tables.sum(-2)).sum(-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray((agreed * units - chance) / (units**2 - chance))


def alpha(tables: "NDArray[Any]") -> "NDArray[Any]":
    """Krippendorff's alpha for nominal labels of two readers; shape and exception as of `kappa`.

    Source: Krippendorff 2011, Computing Krippendorff's alpha-reliability.
    """
    import numpy as np

    values = 2 * tables.sum((-2, -1))
    counts = tables.sum(-1) + tables.sum(-2)
    apart = 1 - 2 * np.trace(tables, axis1=-2, axis2=-1) / np.maximum(values, 1)
    expected = values * (values - 1) - (counts * (counts - 1)).sum(-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(1 - apart * values * (values - 1) / expected)


def _f1(counts: "NDArray[Any]") -> "NDArray[Any]":
    """F1 of [pairs, only one's, only the other's], shape (..., 3)."""
    import numpy as np

    with np.errstate(invalid="ignore"):
        return np.asarray(2 * counts[..., 0] / (2 * counts[..., 0] + counts[..., 1] + counts[..., 2]))


def _bootstrapped(counts: Any, figure: Callable[["NDArray[Any]"], "NDArray[Any]"]) -> Figure:
    """A figure of counts of units, with the percentiles of units drawn again as often as there are."""
    import numpy as np

    counted = np.asarray(counts, dtype=float)
    units = int(counted.sum())
    value = float(figure(counted)) if units else float("nan")
    if np.isnan(value):
        return Figure(None, None, None)
    drawn = np.random.default_rng(SEED).multinomial(units, counted.ravel() / units, size=RESAMPLES)
    figures = figure(drawn.reshape(RESAMPLES, *counted.shape).astype(float))
    low, high = np.nanpercentile(figures, [2.5, 97.5])
    return Figure(value, float(low), float(high))


def _comparable(notes: Iterable[ReadBack]) -> list[ReadBack]:
    return [
        o
        for o in notes
        if o.role == "athlete" and o.verdict != "struck" and o.spoken.start is not None and o.spoken.end is not None
    ]


def _paired(
    left: list[ReadBack], right: list[ReadBack]
) -> tuple[list[tuple[ReadBack, ReadBack]], list[ReadBack], list[ReadBack]]:
    """Notes of the same moment and kind, then those of one reader alone, then those of the other."""
    ours, theirs = [_mark(note) for note in left], [_mark(note) for note in right]
    note_of = {id(mark): note for mark, note in zip([*ours, *theirs], [*left, *right], strict=True)}
    found = score(ours, theirs, sentences=0)
    pairs = [(note_of[id(pair.predicted)], note_of[id(pair.true)]) for pair in found.pairs]
    return pairs, [note_of[id(mark)] for mark in found.false], [note_of[id(mark)] for mark in found.missed]


def _mark(note: ReadBack) -> Mark:
    start, end = _span(note)
    choices = ([frozenset({i}) for i in ids] for ids in (note.techniques, note.faults, note.fixes))
    techniques, faults, fixes = map(tuple, choices)
    return Mark(note.athlete, note.kind, start, end, techniques, faults, fixes)


def _span(note: ReadBack) -> tuple[int, int]:
    return to_ms(note.spoken.start or 0), to_ms(note.spoken.end or 0)


def _stretches(left: list[ReadBack], right: list[ReadBack]) -> tuple[list[str], list[str]]:
    """Both readers' labels of every stretch of every athlete, from the start to the last note of either."""
    end = max((_span(note)[1] for note in (*left, *right)), default=0)
    units = [
        (athlete, start)
        for athlete in sorted({note.athlete for note in (*left, *right)})
        for start in range(0, end, STRETCH_MS)
    ]
    one, other = ([_label(notes, athlete, start) for athlete, start in units] for notes in (left, right))
    return one, other


def _label(notes: list[ReadBack], athlete: str, start: int) -> str:
    filled: dict[str, int] = {}
    for note in notes:
        first, last = _span(note)
        shared = min(last, start + STRETCH_MS) - max(first, start)
        if note.athlete == athlete and shared > 0:
            filled[note.kind] = filled.get(note.kind, 0) + shared
    return max(sorted(filled), key=filled.__getitem__, default=NOTHING)


def _first_fault(note: ReadBack) -> str:
    return note.faults[0] if note.faults else NONE


def _named(note: ReadBack) -> str:
    return note.techniques[0] if note.techniques else NONE


def _start(difference: Difference) -> int:
    return min(_span(note)[0] for note in (difference.one, difference.other) if note)
