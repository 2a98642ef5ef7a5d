"""Whether an athlete's faults come less or more often than before, claimed only where it is more than chance.

The comparison is settled before any count is seen: the days are cut where both parts hold as nearly the same exposure
as can be, and the newer part is compared with the older. Every fault with enough notes is tested, all are corrected
together, and showing only one of them changes nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from notes.archive.archive import Kept
from notes.archive.exposure import Exposure
from notes.archive.log import grouped
from notes.rates import Comparison, Rate, compare, dispersion, holm, rate

# From fewer notes nothing is claimed: with equal halves even five against none has p = .0625.
LEAST_NOTES = 6
CHANCE = 0.05

Verdict = Literal["less often", "more often", "no change shown", "too few notes"]


@dataclass(frozen=True, slots=True)
class Change:
    """The newer half against the older; `p` is corrected for all faults tested together."""

    older: Rate
    newer: Rate
    comparison: Comparison
    p: float


@dataclass(frozen=True, slots=True)
class FaultProgress:
    """One fault: its notes on each day of the exposure, its whole rate, and what became of it.

    `change` is None where there are no two parts to compare.
    """

    fault: str
    counts: tuple[int, ...]
    rate: Rate
    change: Change | None
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Progress:
    """All faults of an athlete, the most often noted first.

    Days from `cut` on are the newer half; None where all that was watched fell on one day. `bouts` is how much more the
    counts vary from day to day than at steady rates (1: no more), `bouts_p` the p of that.
    """

    watched: Exposure
    cut: int | None
    tested: int
    faults: tuple[FaultProgress, ...]
    bouts: float
    bouts_p: float


def progress(notes: list[Kept], watched: Exposure) -> Progress:
    """What the notes of an athlete show. No faults are given where nothing watched is known in amount."""
    groups = {key: group for (kind, key), group in grouped(notes).items() if kind == "fault"}
    counts = {key: watched.counts(group) for key, group in groups.items()}
    cut = halves(watched.amounts)
    found = [_fault(key, counted, watched.amounts, cut) for key, counted in counts.items() if any(counted)]
    tested = [f for f in found if f.change and f.rate.count >= LEAST_NOTES]
    corrected = dict(
        zip((f.fault for f in tested), holm([f.change.comparison.p for f in tested if f.change]), strict=True)
    )
    judged = [_judged(f, corrected.get(f.fault)) for f in found]
    bouts, bouts_p = _bouts(tested, watched.amounts, cut)
    return Progress(
        watched=watched,
        cut=cut,
        tested=len(tested),
        faults=tuple(sorted(judged, key=lambda f: (-f.rate.count, f.fault))),
        bouts=bouts,
        bouts_p=bouts_p,
    )


def halves(amounts: Sequence[float]) -> int | None:
    """The place of the first day of the newer half: the cut whose two sides differ least, the earlier of equals.

    None where no cut leaves something watched on both sides.
    """
    cuts = [i for i in range(1, len(amounts)) if sum(amounts[:i]) > 0 and sum(amounts[i:]) > 0]
    return min(cuts, key=lambda i: round(abs(sum(amounts[:i]) - sum(amounts[i:])), 6), default=None)


def _fault(key: str, counts: tuple[int, ...], amounts: Sequence[float], cut: int | None) -> FaultProgress:
    change = None
    if cut is not None:
        older = rate(sum(counts[:cut]), sum(amounts[:cut]))
        newer = rate(sum(counts[cut:]), sum(amounts[cut:]))
        comparison = compare(older, newer)
        change = Change(older, newer, comparison, comparison.p)
    return FaultProgress(key, counts, rate(sum(counts), sum(amounts)), change, "too few notes")


def _judged(fault: FaultProgress, corrected: float | None) -> FaultProgress:
    """A fault with its corrected p and what may be claimed; None: it was not tested."""
    if fault.change is None or corrected is None:
        return fault
    verdict: Verdict = "no change shown"
    if corrected < CHANCE:
        verdict = "less often" if fault.change.newer.value < fault.change.older.value else "more often"
    return replace(fault, change=replace(fault.change, p=corrected), verdict=verdict)


def _bouts(tested: Sequence[FaultProgress], amounts: Sequence[float], cut: int | None) -> tuple[float, float]:
    watched = [day for day, amount in enumerate(amounts) if amount]
    parts = [
        ([f.counts[day] for day in half], [amounts[day] for day in half])
        for f in tested
        for half in ([d for d in watched if d < (cut or 0)], [d for d in watched if d >= (cut or 0)])
        if half
    ]
    return dispersion(parts)
