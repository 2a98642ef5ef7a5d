"""How often a change is claimed of an athlete who does not change: our rules beside naive comparisons.

Ten faults at constant true rates, a year of 24 sessions of three to five rounds, many such athletes. Printed for
counts at steady rates, and for counts that come in bouts (each fault's rate of a day varies by a gamma of mean 1).
Run: python tests/benchmark/claims.py
"""

import hashlib
from collections.abc import Callable
from datetime import date, timedelta

import numpy as np

from notes.archive.entries import Kept
from notes.archive.exposure import Exposure
from notes.archive.progress import CHANCE, Progress, progress
from notes.model import Observation

SEED = 20310314
FAULTS, SESSIONS = 10, 24


def athlete(rng: np.random.Generator, bouts: float = 0.0, falls_to: float = 1.0) -> tuple[list[Kept], Exposure]:
    """A year's notes of somebody whose true rates, .1 to 1 a round, stay as they are; `bouts` is the variance of a day's
    own factor on each fault. With `falls_to`, fault-0 is at 1 a round and falls to that in the second half."""
    rounds = rng.integers(3, 6, SESSIONS).astype(float)
    rates = rng.uniform(0.1, 1.0, FAULTS)
    if falls_to < 1:
        rates[0] = 1.0
    course = np.ones((FAULTS, SESSIONS))
    course[0, SESSIONS // 2 :] = falls_to
    factor = rng.gamma(1 / bouts, bouts, (FAULTS, SESSIONS)) if bouts else 1.0
    counts = rng.poisson(rates[:, None] * rounds * factor * course)
    days = [date(2031, 1, 7) + timedelta(days=14 * i) for i in range(SESSIONS)]
    notes = [
        note(f"fault-{fault}", days[day])
        for day in range(SESSIONS)
        for fault in range(FAULTS)
        for _ in range(counts[fault, day])
    ]
    return notes, watched(days, [float(r) for r in rounds])


def note(fault: str, day: date) -> Kept:
    """A fault as it comes out of the log."""
    seen = Observation("Mara", "athlete", "fault", (), (fault,), (), None, None, 0, 0, None, None, False, "…", 0.9)
    return Kept(seen, f"{day}.vtt", recording_of(day), day, timed=True)


def watched(days: list[date], rounds: list[float]) -> Exposure:
    """One recording a day of so many rounds."""
    return Exposure("round", tuple(days), tuple(rounds), frozenset(map(recording_of, days)), 0, 0)


def recording_of(day: date) -> str:
    """The fingerprint of a day's recording."""
    return hashlib.sha256(day.isoformat().encode()).hexdigest()


def ours(found: Progress) -> int:
    """Changes claimed by the rules of `tapeside progress`."""
    return sum(f.verdict in ("less often", "more often") for f in found.faults)


def uncorrected(found: Progress) -> int:
    """The same test at .05 for each fault, without correction or a least number of notes."""
    return sum(f.change is not None and f.change.comparison.p < CHANCE for f in found.faults)


def third_less(found: Progress) -> int:
    """What an eye says of two counts: the newer half differs from the older by a third or more."""
    return sum(
        f.change is not None and abs(f.change.newer.value - f.change.older.value) >= f.change.older.value / 3
        for f in found.faults
    )


WAYS: dict[str, Callable[[Progress], int]] = {
    "tapeside progress": ours,
    "exact test, no correction": uncorrected,
    "by eye: a third up or down": third_less,
}


def claimed(ways: dict[str, Callable[[Progress], int]], athletes: int, bouts: float) -> dict[str, float]:
    """The share of athletes of whom at least one change is claimed, by way."""
    rng = np.random.default_rng(SEED)
    found = [progress(*athlete(rng, bouts)) for _ in range(athletes)]
    return {name: sum(way(f) > 0 for f in found) / athletes for name, way in ways.items()}


def looked_at_often(athletes: int) -> float:
    """The share of whom `tapeside progress` claims a change at some time, looking after each session from the sixth."""
    rng = np.random.default_rng(SEED)
    ever = 0
    for _ in range(athletes):
        notes, all_of_it = athlete(rng)
        for last in range(6, SESSIONS + 1):
            so_far = watched(list(all_of_it.days[:last]), list(all_of_it.amounts[:last]))
            if ours(progress([n for n in notes if n.day <= so_far.days[-1]], so_far)):
                ever += 1
                break
    return ever / athletes


def noticed(athletes: int, bouts: float, falls_to: float) -> float:
    """The share of whom it is claimed that fault-0 comes less often, when it truly does."""
    rng = np.random.default_rng(SEED)
    found = [progress(*athlete(rng, bouts, falls_to)) for _ in range(athletes)]
    return sum(any(f.fault == "fault-0" and f.verdict == "less often" for f in p.faults) for p in found) / athletes


if __name__ == "__main__":
    print("Any change claimed of an athlete who does not change (ten faults, 24 sessions, 300 athletes):")
    for bouts in (0.0, 0.25, 0.5, 1.0):
        shares = claimed(WAYS, 300, bouts)
        print(f"  {'steady rates' if not bouts else f'bouts, variance {bouts}'}")
        base = shares["by eye: a third up or down"]
        for name, share in shares.items():
            print(f"    {name:<28}{share:6.1%}   ratio to by eye {share / base:.3f}")
    print(f"  looked at after each session from the sixth, steady rates, 60 athletes: {looked_at_often(60):.1%} ever")
    print("\nA fault that truly falls from 1 a round, noticed by tapeside progress (100 athletes):")
    for falls_to in (0.75, 0.5, 0.25):
        told = [f"{noticed(100, bouts, falls_to):.0%} at variance {bouts}" for bouts in (0.0, 0.5)]
        print(f"  to {falls_to}: {', '.join(told)}")
