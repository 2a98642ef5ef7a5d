"""Rates of counted events: exact limits, the exact comparison of two, correction for many comparisons.

Events are taken to come one by one at a steady rate (Poisson). Real notes also come in bouts; `dispersion` tells how
much.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

_TAIL = (1 - 0.95) / 2


@dataclass(frozen=True, slots=True)
class Rate:
    """`count` events in an `exposure` above 0, as events per unit of exposure, with 95 % limits."""

    count: int
    exposure: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """A newer rate over an older: ratio (None for 0 over 0; infinite over 0), its 95 % limits and p."""

    ratio: float | None
    low: float
    high: float
    p: float


def rate(count: int, exposure: float) -> Rate:
    """A rate with exact limits, quantiles of the gamma distribution. Source: Garwood 1936, Biometrika 28:437."""
    from scipy.special import gammaincinv

    low = float(gammaincinv(count, _TAIL)) if count else 0.0
    high = float(gammaincinv(count + 1, 1 - _TAIL))
    return Rate(count, exposure, count / exposure, low / exposure, high / exposure)


def compare(older: Rate, newer: Rate) -> Comparison:
    """The exact two-sample Poisson test: given their sum, the newer count is binomial.

    p adds up all splits that are no likelier than the one seen; the limits are Clopper and Pearson's, as ratios. The
    two rules can differ by a hair near .05. Both are those of R's `poisson.test`.
    Source: Przyborowski & Wilenski 1940, Biometrika 31:313.
    """
    total = older.count + newer.count
    if not total:
        return Comparison(None, 0.0, math.inf, 1.0)
    from scipy.stats import binomtest

    test = binomtest(newer.count, total, newer.exposure / (older.exposure + newer.exposure))
    low, high = share_limits(newer.count, total)

    def ratio(share: float) -> float:
        return share / (1 - share) * older.exposure / newer.exposure if share < 1 else math.inf

    return Comparison(ratio(newer.count / total), ratio(low), ratio(high), float(test.pvalue))


def share_limits(part: int, whole: int) -> tuple[float, float]:
    """Exact 95 % limits of a share, `whole` above 0. Source: Clopper & Pearson 1934, Biometrika 26:404."""
    from scipy.special import betaincinv

    low = float(betaincinv(part, whole - part + 1, _TAIL)) if part else 0.0
    high = float(betaincinv(part + 1, whole - part, 1 - _TAIL)) if part < whole else 1.0
    return low, high


def holm(ps: Sequence[float]) -> list[float]:
    """p values made larger so that among all of them a false claim at level a has a chance of a at most.

    Source: Holm 1979, Scandinavian Journal of Statistics 6:65.
    """
    adjusted = [0.0] * len(ps)
    highest = 0.0
    for rank, i in enumerate(sorted(range(len(ps)), key=ps.__getitem__)):
        highest = max(highest, (len(ps) - rank) * ps[i])
        adjusted[i] = min(highest, 1.0)
    return adjusted


def dispersion(parts: Sequence[tuple[Sequence[int], Sequence[float]]]) -> float:
    """How many times more counts vary than at a steady rate; never below 1, and 1 where there is nothing to tell from.

    Each part is counts and their exposures (above 0) at one rate of its own. Pearson's chi-square over its degrees of
    freedom, over all parts.
    Source: McCullagh & Nelder 1989, Generalized Linear Models, 2nd ed., 4.5 and 6.2 (from memory).
    """
    squares, freedom = 0.0, 0
    for counts, exposures in parts:
        expected = [sum(counts) * exposure / sum(exposures) for exposure in exposures]
        if sum(counts):
            squares += sum((n - e) ** 2 / e for n, e in zip(counts, expected, strict=True))
            freedom += len(counts) - 1
    return max(1.0, squares / freedom) if freedom else 1.0
