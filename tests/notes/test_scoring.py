"""The scoring rules."""

import pytest

from notes.scoring import Mark, score

FAULT = Mark(
    "Mara", "fault", 10_000, 12_000, (frozenset({"jab"}),), (frozenset({"chin-up"}),), (frozenset({"tuck-chin"}),)
)


def moved(mark: Mark, **changes: object) -> Mark:
    from dataclasses import replace

    return replace(mark, **changes)  # type: ignore[arg-type]


def test_equal_marks_score_one() -> None:
    result = score([FAULT], [FAULT], sentences=10)

    assert (result.precision, result.recall, result.f1, result.strict_f1, result.fix_f1) == (1, 1, 1, 1, 1)


def test_nothing_found_scores_nothing() -> None:
    result = score([], [FAULT], sentences=10)

    assert (result.precision, result.recall, result.f1, result.false_per_100) == (0, 0, 0, 0)


@pytest.mark.parametrize(("start_ms", "paired"), [(14_900, True), (15_000, True), (15_100, False)])
def test_marks_pair_within_three_seconds(start_ms: int, paired: bool) -> None:
    late = moved(FAULT, start_ms=start_ms, end_ms=start_ms + 1_000)

    assert bool(score([late], [FAULT], sentences=1).pairs) is paired


def test_another_athlete_or_kind_is_no_pair() -> None:
    result = score([moved(FAULT, athlete="Devon"), moved(FAULT, kind="advice")], [FAULT], sentences=50)

    assert (len(result.pairs), result.false_per_100) == (0, 4.0)


def test_the_pair_that_shares_most_ids_comes_first() -> None:
    other = moved(FAULT, faults=(frozenset({"hands-low"}),))

    result = score([other, FAULT], [FAULT], sentences=1)

    assert result.pairs[0].predicted == FAULT


def test_a_fair_alternative_is_right_and_so_is_silence_where_none_is_fair() -> None:
    fair = moved(FAULT, techniques=(frozenset({"cross", "none"}),))

    assert score([moved(FAULT, techniques=())], [fair], sentences=1).strict_f1 == 1
    assert score([moved(FAULT, techniques=(frozenset({"cross"}),))], [fair], sentences=1).strict_f1 == 1
    assert score([FAULT], [fair], sentences=1).strict_f1 == 0
