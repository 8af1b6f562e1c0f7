"""A measured value as an answer: the normal distribution on either side of its limit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.belief import measured
from faulttree.belief.likelihood import Urn
from faulttree.book.model import Book, Reading
from faulttree.errors import BadAnswer
from tests.support.belief_cases import law
from tests.support.books import fault, make_book
from tests.support.random_books import a_check


def gauge(error: float) -> Book:
    """A reading with its limit between the two first of three outcomes."""
    reading = Reading("voltage", "V", error, "limit", "o0", "o1")
    check = a_check("gauge", ["low", "high"], 0.9, 0.02, reading=reading)
    return make_book([fault("low", probability=0.1), fault("high", probability=0.1)], checks=[check])


@law
@given(value=st.floats(-50, 50), limit=st.floats(-50, 50), error=st.floats(0.01, 10))
def test_a_reading_lies_on_either_side(value: float, limit: float, error: float) -> None:
    """A reading splits between the outcomes of its two sides by the normal distribution; others get none."""
    below, above, other = measured(gauge(error), "gauge", value, limit).weights
    expected = 0.5 * (1.0 + math.erf((value - limit) / error / math.sqrt(2.0)))
    assert (below, above, other) == pytest.approx((1.0 - expected, expected, 0.0), abs=1e-12)


@law
@given(value=st.floats(-50, 50), above=st.floats(0, 10))
def test_a_reading_without_error(value: float, above: float) -> None:
    """Without error a reading is on one side; at the limit it counts as above."""
    assert measured(gauge(0.0), "gauge", value + above, value).weights == (0.0, 1.0, 0.0)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("place", [0, 1])
def test_a_reading_must_be_a_number(bad: float, place: int) -> None:
    """A reading or a limit that is no finite number is refused."""
    value, limit = (bad, 1.0) if place == 0 else (1.0, bad)
    with pytest.raises(BadAnswer):
        measured(gauge(0.5), "gauge", value, limit)


def test_hundreds_of_repeats_leave_a_probability() -> None:
    """Two hundred readings of one check, where a product of all denominators would overflow.

    Held against the Dirichlet-multinomial by log gammas (Johnson, Kotz, Balakrishnan: Discrete Multivariate
    Distributions, 1997, chapter 35; formula from memory).
    """
    urn = Urn(0.2, 2)
    for number in range(200):
        urn.add((1.0, 0.0) if number % 10 else (0.0, 1.0))
    for shown in ([0.9, 0.1], [0.5, 0.5]):
        weights = [urn.alpha * share for share in shown]
        logs = [math.lgamma(w + n) - math.lgamma(w) for w, n in zip(weights, (180, 20), strict=True)]
        expected = sum(logs) + math.lgamma(urn.alpha) - math.lgamma(urn.alpha + 200)
        assert math.log(urn.probability(np.array([shown]))[0]) == pytest.approx(expected, rel=1e-9)
