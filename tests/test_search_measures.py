"""The ranking measures against scikit-learn's, and against a worked example."""

import random

import pytest
from measures import dcg, ndcg, reciprocal_rank
from sklearn.metrics import ndcg_score


def test_dcg_of_the_textbook_example() -> None:
    """Relevances 3 2 3 0 1 2: DCG 6.861, ideal 7.141 (the example of many textbooks; figures from memory)."""
    found = [3, 2, 3, 0, 1, 2]

    assert dcg(found) == pytest.approx(6.861127, abs=1e-6)
    assert ndcg(found, found) == pytest.approx(0.960808, abs=1e-6)


def test_ndcg_is_scikit_learns() -> None:
    rng = random.Random(3)
    for _ in range(50):
        grades = rng.choices((0, 0, 0, 1, 2), k=30)
        if any(grades):
            assert ndcg(grades, grades) == pytest.approx(ndcg_score([grades], [list(range(30, 0, -1))], k=10))


def test_the_reciprocal_rank_is_that_of_the_first_answer() -> None:
    assert [reciprocal_rank(found) for found in ([0, 0, 1, 2], [2], [0], [])] == [1 / 3, 1, 0, 0]
