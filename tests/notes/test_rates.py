"""Exact rates against published tables and documented examples."""

import math

import numpy as np
import pytest
from scipy.stats import binomtest, poisson

from notes.rates import compare, dispersion, holm, rate, share_limits

# Garwood's 95 % limits of a Poisson count, to four places; checked against R 4.2 `poisson.test`.
GARWOOD = {
    0: (0, 3.6889), 1: (0.0253, 5.5716), 2: (0.2422, 7.2247), 3: (0.6187, 8.7673), 5: (1.6235, 11.6683),
    7: (2.8144, 14.4227), 10: (4.7954, 18.3904), 15: (8.3954, 24.7402), 20: (12.2165, 30.8884),
}  # fmt: skip


@pytest.mark.parametrize("count", GARWOOD)
def test_limits_are_garwoods(count: int) -> None:
    found = rate(count, 1.0)

    assert (found.low, found.high) == pytest.approx(GARWOOD[count], abs=5e-5)


def test_limits_of_rs_documented_one_sample_example() -> None:
    """R documentation of `poisson.test`: 137 events in 24.19893."""
    found = rate(137, 24.19893)

    assert (found.value, found.low, found.high) == pytest.approx((5.661407, 4.753125, 6.692709), abs=1e-6)


def test_a_rate_is_events_by_exposure() -> None:
    """Seven in three rounds; limits by R 4.2."""
    found = rate(7, 3.0)

    assert (found.value, found.low, found.high) == pytest.approx((2.3333, 0.9381, 4.8076), abs=5e-5)


# older count and exposure, newer count and exposure; ratio, p, limits.
TWO_SAMPLES = [
    # R documentation of `poisson.test`: lung cancer in Fredericia against three other Danish cities (eba1977).
    ((21, 3011), (11, 800), 1.971488, 0.0796686, 0.858426, 4.277266),
    # Breast cancer after fluoroscopy: Rothman's example in the tests of an R package.
    ((15, 19017), (41, 28010), 1.855759, 0.0408520, 1.005684, 3.609300),
    # Example of R's rateratio.test: the p is below .05 although the limits hold 1.
    ((9, 16660), (2, 17877), 0.207094, 0.0330942, 0.021774, 1.000549),
    # R 4.2.
    ((3, 6), (12, 6), 4.0, 0.0351563, 1.079473, 22.088287),
    ((0, 6), (5, 6), math.inf, 0.0625, 0.916356, math.inf),
    ((4, 6), (4, 3), 2.0, 0.453742, 0.372515, 10.737817),
]


@pytest.mark.parametrize(("older", "newer", "ratio", "p", "low", "high"), TWO_SAMPLES)
def test_two_rates_are_compared_as_r_does(older, newer, ratio: float, p: float, low: float, high: float) -> None:
    found = compare(rate(*older), rate(*newer))

    assert found.ratio == pytest.approx(ratio, abs=1e-6)
    assert found.p == pytest.approx(p, abs=1e-6)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-5)


def test_nothing_against_nothing_tells_nothing() -> None:
    found = compare(rate(0, 6), rate(0, 6))

    assert (found.ratio, found.low, found.high, found.p) == (None, 0.0, math.inf, 1.0)


def test_limits_of_a_share_are_scipys() -> None:
    for part, whole in ((0, 5), (3, 5), (5, 5), (70, 90)):
        limits = binomtest(part, whole).proportion_ci(0.95, method="exact")

        assert share_limits(part, whole) == pytest.approx((limits.low, limits.high))


def test_holm_keeps_three_of_the_fifteen_p_values_of_benjamini_and_hochberg() -> None:
    """Benjamini & Hochberg 1995, J R Stat Soc B 57:289 (values from memory; statsmodels `multipletests` keeps 3 too)."""
    ps = [.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1]  # fmt: skip

    adjusted = holm(ps)

    assert sum(p < 0.05 for p in adjusted) == 3
    assert adjusted == sorted(adjusted)
    assert adjusted[3] == pytest.approx(12 * 0.0095)


def test_holm_keeps_the_order_in_which_the_p_values_came() -> None:
    assert holm([0.04, 0.01]) == pytest.approx([0.04, 0.02])
    assert holm([]) == []


def test_steady_counts_are_not_dispersed_and_bouts_are() -> None:
    rng = np.random.default_rng(1)
    exposures = [4.0] * 200

    assert dispersion([(list(rng.poisson(4.0, 200)), exposures)]) == pytest.approx(1, abs=0.2)
    assert dispersion([(list(rng.poisson(4.0 * rng.gamma(2, 0.5, 200))), exposures)]) == pytest.approx(3, abs=0.7)
    assert dispersion([([5], [3.0])]) == 1.0
    assert dispersion([]) == 1.0


def test_the_worst_of_ten_equal_faults_falls_by_forty_per_cent_with_nothing_changed() -> None:
    """What the program tells about regression to the mean: the mean of the largest of ten Poisson counts of mean 6,
    by an exact sum over scipy's distribution."""
    counts = np.arange(200)
    at_most = poisson.cdf(counts, 6) ** 10
    worst = float((1 - at_most).sum())

    assert worst == pytest.approx(10.013, abs=0.001)
    assert 1 - 6 / worst == pytest.approx(0.40, abs=0.005)
