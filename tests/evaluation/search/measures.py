"""Measures of a ranking by graded relevance."""

import math
from collections.abc import Iterable, Sequence


def dcg(grades: Iterable[int]) -> float:
    """Discounted cumulative gain (Järvelin & Kekäläinen 2002, ACM TOIS 20:422), gain by the grade, log2 discount."""
    return sum(grade / math.log2(place + 2) for place, grade in enumerate(grades))


def ndcg(found: Sequence[int], possible: Iterable[int], depth: int = 10) -> float:
    """Gain of the found grades in rank order over that of the best order of all grades there are, both to a depth."""
    best = dcg(sorted(possible, reverse=True)[:depth])
    return dcg(found[:depth]) / best if best else 0.0


def reciprocal_rank(found: Sequence[int]) -> float:
    """One over the rank of the first note that answers, 0 where none does."""
    return next((1 / (place + 1) for place, grade in enumerate(found) if grade), 0.0)
