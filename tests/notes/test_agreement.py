"""Agreement of two readers against published examples and scikit-learn."""

import numpy as np
import pytest
from sklearn.metrics import cohen_kappa_score

from notes.agreement import agreement, alpha, compare_readings, cross_table, kappa
from notes.observations_json import ReadBack

TABLES = [
    # 2x2 of a statistics textbook (from memory): 0.4; Feinstein & Cicchetti 1990, J Clin Epidemiol 43:543 (from memory)
    (((20, 5), (10, 15)), 0.400000),
    (((45, 15), (25, 15)), 0.130435),
    (((25, 35), (5, 35)), 0.259259),
    (((40, 9), (6, 45)), 0.699519),
    (((80, 10), (5, 5)), 0.318182),
    # Fleiss, Cohen & Everitt 1969 (from memory)
    (((88, 14, 18), (10, 40, 10), (2, 6, 12)), 0.491525),
    # Altman's two radiologists, 85 films (from memory): 0.47
    (((21, 12, 0, 0), (4, 17, 1, 0), (3, 9, 15, 2), (0, 0, 0, 1)), 0.472789),
]


@pytest.mark.parametrize(("table", "expected"), TABLES)
def test_kappa_agrees_with_published_tables_and_with_scikit_learn(table, expected: float) -> None:
    pairs = [(i, j) for i, row in enumerate(table) for j, count in enumerate(row) for _ in range(count)]
    one, other = [str(i) for i, _ in pairs], [str(j) for _, j in pairs]

    found = agreement(one, other)

    assert found.kappa.value == pytest.approx(expected, abs=1e-6)
    assert found.kappa.value == pytest.approx(cohen_kappa_score(one, other))


def test_the_bootstrap_of_kappa_is_that_of_resampled_pairs() -> None:
    """20 5 / 10 15: 10,000 resamples of the 50 pairs with numpy and scikit-learn gave .142 to .639."""
    one, other = ["a"] * 25 + ["b"] * 25, ["a"] * 20 + ["b"] * 5 + ["a"] * 10 + ["b"] * 15

    found = agreement(one, other).kappa

    assert (found.low, found.high) == pytest.approx((0.142, 0.639), abs=0.02)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        # Krippendorff 2011, Computing Krippendorff's alpha-reliability: two observers, binary and nominal (from memory;
        # the same by the package krippendorff 0.9.0, as is the last, kappa .090909 on the same data as the first).
        ("0100000010", "1110010000", 0.095238),
        ("aabbdcccedda", "babbbccceddd", 0.691964),
    ],
)
def test_alpha_agrees_with_krippendorffs_examples(one: str, other: str, expected: float) -> None:
    assert float(alpha(cross_table(list(one), list(other)))) == pytest.approx(expected, abs=1e-6)


def test_kappa_and_alpha_differ_on_few_units() -> None:
    table = cross_table(list("0100000010"), list("1110010000"))

    assert float(kappa(table)) == pytest.approx(0.090909, abs=1e-6)


def test_one_label_alone_cannot_be_computed() -> None:
    found = agreement(["fault"] * 10, ["fault"] * 10)

    assert found.equal == 1.0
    assert (found.kappa.value, found.alpha.value) == (None, None)
    assert agreement([], []).kappa.value is None


def test_equal_seeds_give_equal_limits() -> None:
    rng = np.random.default_rng(3)
    one, other = (list(rng.choice(["a", "b", "c"], 60)) for _ in range(2))

    assert agreement(one, other) == agreement(one, other)


def note(start: float, fault: str = "chin-up", **changes: object) -> ReadBack:
    values = {
        "athlete": "Mara", "role": "athlete", "kind": "fault", "techniques": ["jab"], "faults": [fault],
        "spoken": {"start": start, "end": start + 4}, "quote": "Chin.",
    } | changes  # fmt: skip
    return ReadBack.model_validate(values)


def test_equal_readings_agree_wholly() -> None:
    notes = [note(10), note(30, "slow-return"), note(50, kind="strength", faults=[])]

    found = compare_readings(notes, notes)

    assert (found.f1.value, found.paired, found.differences) == (1.0, 3, ())
    assert found.kinds.kappa.value == found.faults.alpha.value == 1.0


def test_what_only_one_has_and_what_is_named_otherwise_are_differences() -> None:
    one = [note(10), note(30), note(90)]
    other = [note(11), note(31, "slow-return"), note(60)]

    found = compare_readings(one, other)

    assert found.f1.value == pytest.approx(2 * 2 / 6)
    assert [(d.one, d.other) for d in found.differences] == [(one[1], other[1]), (None, other[2]), (one[2], None)]
    assert (found.faults.units, found.faults.equal) == (2, 0.5)


def test_struck_notes_and_those_of_the_opponent_are_not_compared() -> None:
    found = compare_readings([note(10), note(30, verdict="struck"), note(50, role="opponent")], [note(10)])

    assert (found.one, found.other, found.f1.value) == (1, 1, 1.0)


def test_stretches_of_ten_seconds_are_labelled_by_what_fills_most_of_them() -> None:
    found = compare_readings([note(2), note(21)], [note(2, kind="strength"), note(21)])

    assert (found.kinds.units, found.kinds.equal) == (3, pytest.approx(2 / 3))
