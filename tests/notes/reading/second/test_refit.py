"""The re-fit on arrays, against scikit-learn where that solves the same problem."""

from collections.abc import Callable

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression

from notes.reading.second.refit import Corrections, Naming, Presence, held_back

DRAW = np.random.default_rng(1)


def presence(count: int, prior: float = 2.0, teach: Callable[[np.ndarray], np.ndarray] | None = None) -> Presence:
    features = DRAW.normal(size=(count, 5))
    right = (teach(features) if teach else DRAW.random(count) < 0.5).astype(bool)
    return Presence(features, np.zeros(count), np.zeros(count), right, prior)


def naming(about: np.ndarray, chosen: list[int], ids: int = 4, prior: float = 2.0, sharp: float = 3.0) -> Naming:
    return Naming(about, np.zeros((len(about), ids)), np.eye(ids, dtype=bool)[chosen], sharp, prior)


def test_what_is_there_is_fitted_as_scikit_learn_fits_it() -> None:
    rows = presence(60, teach=lambda x: x[:, 0] + 0.5 * DRAW.normal(size=len(x)) > 0)
    other = LogisticRegression(C=1 / rows.prior, fit_intercept=False, tol=1e-9).fit(rows.features, rows.right)

    assert np.allclose(rows.fit(), other.coef_[0], atol=1e-3)


def test_which_id_is_fitted_as_scikit_learn_fits_it() -> None:
    about = DRAW.normal(size=(80, 6))
    chosen = [int(row[:4].argmax()) for row in about]
    rows = naming(about, chosen)
    other = LogisticRegression(C=1 / rows.prior, fit_intercept=False, tol=1e-9).fit(rows.sharp * about, chosen)

    assert np.allclose(rows.fit(), other.coef_, atol=1e-3)


@pytest.mark.parametrize("rows", [presence(0), naming(np.zeros((0, 6)), [])], ids=["presence", "naming"])
def test_nothing_to_learn_from_changes_nothing(rows: Corrections) -> None:
    assert not rows.fit().any()


def test_the_firmer_the_prior_the_smaller_the_change() -> None:
    about = DRAW.normal(size=(20, 6))
    sizes = [np.abs(naming(about, [0, 1] * 10, prior=prior).fit()).max() for prior in (1.0, 10.0, 100.0, 1e9)]

    assert sizes == sorted(sizes, reverse=True) and sizes[-1] < 1e-6


def test_any_of_several_chosen_ids_is_right() -> None:
    rows = Naming(np.eye(2), np.array([[2.0, 1, 0], [2, 0, 1]]), np.array([[1, 1, 0], [0, 0, 1]], bool), 1.0, 1.0)

    loss, right = rows.told()
    assert list(right) == [True, False]
    assert loss[0] == pytest.approx(-np.log((np.e**2 + np.e) / (np.e**2 + np.e + 1)))


def test_consistent_corrections_are_better_on_what_was_held_back() -> None:
    rows = naming(np.tile(np.eye(6)[:2], (5, 1)), [1, 2] * 5)
    figures = held_back(rows, np.arange(10) % 5)

    assert figures.better
    assert (figures.right_before, figures.right_after, figures.count) == (0, 10, 10)
    assert figures.loss_before == pytest.approx(np.log(4))


def test_contradictory_corrections_are_not() -> None:
    same = np.tile(np.eye(6)[:1], (10, 1))

    assert not held_back(naming(same, list(DRAW.integers(0, 4, 10)), prior=0.5), np.arange(10) % 5).better
    assert not held_back(presence(40, prior=0.5), np.arange(40) % 5).better
