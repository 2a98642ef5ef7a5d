"""Whether an athlete's faults come less or more often than before, claimed only where it is more than chance.

The comparison is settled before any count is seen: the days are cut where both parts hold as nearly the same exposure
as can be, and the newer part is compared with the older. Every fault with enough notes is tested, all are corrected
together, and showing only one of them changes nothing.

Notes come in bouts: one bad evening brings five of a kind. The exact test takes them for five proofs, so before a claim
both counts are divided by how many times more than chance the fault's notes vary from day to day.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from notes.archive.entries import Kept
from notes.archive.exposure import Exposure
from notes.archive.log import grouped
from notes.rates import Comparison, Rate, compare, dispersion, holm, rate

# From fewer notes nothing is claimed: with equal halves even five against none has p = .0625.
LEAST_NOTES = 6
CHANCE = 0.05

Verdict = Literal["less often", "more often", "no change shown", "too few notes"]


@dataclass(frozen=True, slots=True)
class Change:
    """The newer half against the older by the exact test. `p`, on which a claim rests, is what is left of the exact p
    when bouts (`bouts` times the variance of chance) and the number of faults tested are allowed for; None: not tested.
    """

    older: Rate
    newer: Rate
    comparison: Comparison
    bouts: float
    p: float | None


@dataclass(frozen=True, slots=True)
class FaultProgress:
    """One fault: its notes on each day of the exposure, its whole rate, and what became of it.

    `change` is None where there are no two parts to compare.
    """

    fault: str
    counts: tuple[int, ...]
    rate: Rate
    change: Change | None

    @property
    def verdict(self) -> Verdict:
        """What may be claimed."""
        if self.change is None or self.change.p is None:
            return "too few notes"
        if self.change.p >= CHANCE:
            return "no change shown"
        return "less often" if self.change.newer.value < self.change.older.value else "more often"


@dataclass(frozen=True, slots=True)
class Progress:
    """All faults of an athlete, the most often noted first.

    Days from `cut` on are the newer half; None where all that was watched fell on one day. `tested` faults had enough
    notes.
    """

    watched: Exposure
    cut: int | None
    tested: int
    faults: tuple[FaultProgress, ...]


def progress(notes: list[Kept], watched: Exposure) -> Progress:
    """What the notes of an athlete show. No faults are given where nothing watched is known in amount."""
    groups = {key: watched.counts(group) for (kind, key), group in grouped(notes).items() if kind == "fault"}
    seen = dict(sorted(((k, c) for k, c in groups.items() if any(c)), key=lambda item: (-sum(item[1]), item[0])))
    cut = halves(watched.amounts)
    changes = _changes(seen, watched.amounts, cut) if cut is not None else {}
    return Progress(
        watched=watched,
        cut=cut,
        tested=sum(change.p is not None for change in changes.values()),
        faults=tuple(
            FaultProgress(fault, counts, rate(sum(counts), watched.total), changes.get(fault))
            for fault, counts in seen.items()
        ),
    )


def halves(amounts: Sequence[float]) -> int | None:
    """The place of the first day of the newer half: the cut whose two sides differ least, the earlier of equals.

    None where no cut leaves something watched on both sides.
    """
    cuts = [i for i in range(1, len(amounts)) if sum(amounts[:i]) > 0 and sum(amounts[i:]) > 0]
    return min(cuts, key=lambda i: round(abs(sum(amounts[:i]) - sum(amounts[i:])), 6), default=None)


def _changes(seen: dict[str, tuple[int, ...]], amounts: Sequence[float], cut: int) -> dict[str, Change]:
    """Of each fault, the newer half against the older."""
    parts = {fault: _parts(counts, amounts, cut) for fault, counts in seen.items()}
    tested = [fault for fault, counts in seen.items() if sum(counts) >= LEAST_NOTES]
    everyone = dispersion([part for fault in tested for part in parts[fault]])
    bouts = {fault: max(everyone, dispersion(parts[fault])) for fault in seen}
    pairs = {fault: [rate(sum(counts), sum(watched)) for counts, watched in parts[fault]] for fault in seen}
    shrunk = [
        compare(*(rate(round(half.count / bouts[fault]), half.exposure) for half in pairs[fault])) for fault in tested
    ]
    corrected = dict(zip(tested, holm([comparison.p for comparison in shrunk]), strict=True))
    return {
        fault: Change(older, newer, compare(older, newer), bouts[fault], corrected.get(fault))
        for fault, (older, newer) in pairs.items()
    }


def _parts(counts: Sequence[int], amounts: Sequence[float], cut: int) -> list[tuple[list[int], list[float]]]:
    """Counts and amounts of the days with something watched, older half and newer half."""
    days = [day for day, amount in enumerate(amounts) if amount]
    sides = [[day for day in days if day < cut], [day for day in days if day >= cut]]
    return [([counts[day] for day in side], [amounts[day] for day in side]) for side in sides]
