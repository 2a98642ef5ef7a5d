"""What may be claimed of a fault, and what may not."""

import claims
import numpy as np
import pytest
from archive_logs import faults, watched

from notes.archive.progress import LEAST_NOTES, halves, progress


@pytest.mark.parametrize(
    ("amounts", "cut"),
    [([3, 3, 3, 3], 2), ([9, 1, 1, 1], 1), ([1, 1, 1, 9], 3), ([3, 3, 3], 1), ([3], None), ([0, 3], None), ([], None)],
)
def test_halves_are_cut_by_exposure_alone(amounts: list[float], cut: int | None) -> None:
    assert halves(amounts) == cut


def test_a_fault_that_went_is_claimed_and_one_that_stayed_is_not() -> None:
    notes = faults([4, 4, 4, 0, 1, 0]) + faults([2, 1, 2, 2, 1, 2], "slow-return")

    found = progress(notes, watched([4.0] * 6))

    assert [(f.fault, f.verdict) for f in found.faults] == [
        ("chin-up", "less often"),
        ("slow-return", "no change shown"),
    ]
    assert (found.cut, found.tested) == (3, 2)


def test_twice_the_notes_in_twice_the_rounds_is_no_change() -> None:
    found = progress(faults([8, 8, 16, 16]), watched([3, 3, 6, 6]))
    (fault,) = found.faults

    assert fault.verdict == "no change shown"
    assert fault.rate.value == pytest.approx(48 / 18)


def test_nothing_is_claimed_from_fewer_notes_than_the_least() -> None:
    (few,) = progress(faults([LEAST_NOTES - 1, 0]), watched([3, 3])).faults
    (enough,) = progress(faults([LEAST_NOTES, 0]), watched([3, 3])).faults

    assert (few.verdict, enough.verdict) == ("too few notes", "less often")


def test_one_bad_evening_is_no_trend() -> None:
    """Twelve against two is p = .013 by the exact test, but all twelve are of one day."""
    (fault,) = progress(faults([0, 12, 0, 0, 1, 0, 1, 0]), watched([3.0] * 8)).faults

    assert fault.change is not None and fault.change.comparison.p < 0.02
    assert fault.change.bouts > 3
    assert fault.verdict == "no change shown"


def test_the_more_faults_are_tested_the_more_a_claim_needs() -> None:
    change = [3, 3, 3, 3, 1, 1, 0, 1]
    alone = progress(faults(change), watched([3.0] * 8))
    among = progress(faults(change) + [n for i in range(9) for n in faults([1] * 8, f"other-{i}")], watched([3.0] * 8))

    assert alone.faults[0].verdict == "less often"
    assert next(f for f in among.faults if f.fault == "chin-up").verdict == "no change shown"


def test_notes_of_unknown_exposure_enter_no_rate() -> None:
    (fault,) = progress(faults([2, 9, 2]), watched([3, 0, 3])).faults

    assert (fault.counts, fault.rate.count, fault.rate.exposure) == ((2, 0, 2), 4, 6)


def test_no_rate_is_told_where_nothing_watched_is_known() -> None:
    assert progress(faults([2, 9]), watched([0, 0])).faults == ()


@pytest.mark.parametrize("bouts", [0.0, 0.5])
def test_a_change_is_seldom_claimed_of_an_athlete_who_does_not_change(bouts: float) -> None:
    """Ten faults at constant rates for a year, 150 athletes, seeded. By the rules at most one in twenty is expected,
    that is 7 or 8; more than 15 has a chance below .01. Without correction it is one in three and more."""
    rng = np.random.default_rng(claims.SEED)
    found = [progress(*claims.athlete(rng, bouts)) for _ in range(150)]

    assert sum(claims.ours(f) > 0 for f in found) <= 15
    assert sum(claims.uncorrected(f) > 0 for f in found) >= 40
