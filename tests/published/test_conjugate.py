"""Conjugate updates against worked examples in print, each with its source; tolerances follow the digits printed."""

from __future__ import annotations

import math

import pytest

from faulttree.workshop.conjugate import Beta, Gamma, incomplete_beta, incomplete_gamma

MEMORY_UNITS = [
    1, 5, 1, 4, 2, 3, 1, 3, 6, 4, 4, 4, 2, 3, 2, 2, 4, 5, 5, 2, 5, 3, 2, 2, 3, 1, 1, 2, 5, 1, 4, 1, 1, 1, 2, 1, 3, 2, 5,
    3, 5, 2, 5, 1, 1, 5, 2,
]  # fmt: skip
"""Monthly failures of 47 memory units: Hamada, Wilson, Reese, Martz, Bayesian Reliability, 2008, table 4.1."""

PART_HOURS = [19638, 67068, 129493, 148461, 116517, 6210, 1698, 21674, 121452, 45599]
"""Ten times to failure: New Reliability Prediction Methodology handbook, Bayesian methods, table method_6_3."""


def test_failures_of_memory_units() -> None:
    """Hamada and others, 4.2.2, example 4.2: prior gamma(5, 1), posterior gamma(137, 48), mean 2.85, deviation 0.24."""
    after = Gamma(5.0, 1.0).updated(sum(MEMORY_UNITS), len(MEMORY_UNITS))
    assert after == Gamma(137.0, 48.0)
    assert after.mean == pytest.approx(2.85, abs=0.005)
    assert after.deviation == pytest.approx(0.24, abs=0.005)


def test_failures_in_part_hours() -> None:
    """The same handbook, eq. method_6.30-6.32: shape 10, 677 810 hours; mean and deviation are cut off in print."""
    after = Gamma(0.0, 0.0).updated(len(PART_HOURS), sum(PART_HOURS))
    assert after == Gamma(10.0, 677810.0)
    assert after.mean == pytest.approx(1.47e-5, abs=1e-7)
    assert after.deviation == pytest.approx(4.66e-6, abs=1e-8)


def test_no_failure_at_even_odds() -> None:
    """The same handbook, eq. method_6.38-6.40: without a failure the median of the number is 0.6931, half of the
    chi-square quantile 1.3863 with two degrees of freedom."""
    none = Gamma(1.0, 1.0)
    assert none.quantile(0.5) == pytest.approx(0.6931, abs=5e-5)
    assert 2.0 * none.quantile(0.5) == pytest.approx(1.3863, abs=5e-5)


def test_bounds_of_a_mean_time_between_failures() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.6: prior gamma(2, 1400), two failures in 1909 hours give a
    median of 901 hours, 600 at 80 %, and 427 to 2422 (the prior and these four from memory)."""
    after = Gamma(2.0, 1400.0).updated(2.0, 1909.0)
    low, high = after.interval(0.9)
    told = (1.0 / after.quantile(0.5), 1.0 / after.quantile(0.8), 1.0 / high, 1.0 / low)
    assert told == pytest.approx((901.0, 600.0, 427.0, 2422.0), abs=0.5)


def test_a_poll() -> None:
    """Johnson, Ott, Dogucu, Bayes Rules!, 2022, chapter 3: beta(45, 55) and 30 of 50 give beta(75, 75)."""
    after = Beta(45.0, 55.0).updated(30.0, 20.0)
    assert (after, after.mean) == (Beta(75.0, 75.0), 0.5)
    assert after.deviation == pytest.approx(0.04068942, abs=5e-9)


@pytest.mark.parametrize("x", [0.0, 0.1, 1.0, 2.5, 30.0])
def test_the_incomplete_gamma_function_where_it_has_a_closed_form(x: float) -> None:
    """DLMF 8.4.1 and 8.4.5: P(1/2, x) = erf(sqrt x), P(1, x) = 1 - exp(-x)."""
    assert incomplete_gamma(0.5, x) == pytest.approx(math.erf(math.sqrt(x)), abs=1e-13)
    assert incomplete_gamma(1.0, x) == pytest.approx(-math.expm1(-x), abs=1e-13)


@pytest.mark.parametrize("x", [0.0, 0.05, 0.4, 0.9, 1.0])
def test_the_incomplete_beta_function_where_it_is_a_binomial_sum(x: float) -> None:
    """DLMF 8.17.5: I_x(3, 5) is the chance of three or more in seven."""
    chance = sum(math.comb(7, k) * x**k * (1.0 - x) ** (7 - k) for k in range(3, 8))
    assert incomplete_beta(3.0, 5.0, x) == pytest.approx(chance, abs=1e-13)
