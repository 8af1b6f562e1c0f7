"""Prior chances of a fault's modes, by hand: rates, hours, circumstances and their bounds."""

from __future__ import annotations

import math
from typing import Any

import pytest

from faulttree.belief import Believer, Evidence
from faulttree.belief.priors import ModePriors, mode_priors
from faulttree.book.model import Book, Circumstance, Defaults
from faulttree.errors import BadAnswer, UnknownName
from tests.support.books import fault, make_book

WET = Circumstance("wet", "Wet", "Wet?", promotes=(3.0, 2.0), demotes=(0.5, 0.25), intermittent=(0.4, 5.0), steady=0.6)
VERY = Circumstance("very", "Very", "Very?", promotes=(8.0, 8.0), demotes=(0.05, 0.05))


def priors(*circumstances: str, hours: float = 100.0, **fields: Any) -> ModePriors:
    """Of one fault, at a rate of 2 in a thousand hours unless another chance is given."""
    told = fields if "probability" in fields else {"rate": 2.0, **fields}
    one = fault("f.bad", **told)
    book = make_book([one], circumstances=[WET, VERY], defaults=Defaults(factor_low=0.1, factor_high=10.0))
    return mode_priors(book, one, circumstances, hours)


def chance(expected: float) -> float:
    return 1.0 - math.exp(-expected)


def test_a_rate_counts_by_the_thousand_hours() -> None:
    """Two in a thousand hours, a hundred flown: one in five expected, all of it hard where nothing comes and goes."""
    found = priors()
    assert (found.hard, found.comes_and_goes) == pytest.approx((chance(0.2), 0.0))


def test_a_share_comes_and_goes() -> None:
    """The rate is parted, not the chance."""
    found = priors(share=0.25)
    assert (found.hard, found.comes_and_goes) == pytest.approx((chance(0.15), chance(0.05)))


def test_a_plain_probability_is_the_rate_with_the_same_chance() -> None:
    """Whatever the hours."""
    assert priors(probability=0.3).hard == pytest.approx(0.3)
    assert priors(probability=0.3, hours=5.0).hard == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("fields", "hard", "sleeping"),
    [
        ({"share": 0.5, "promoted_by": ("wet",)}, 3.0 * 0.4, 2.0 * 5.0),
        ({"share": 0.5, "demoted_by": ("wet",)}, 0.5 * 0.4, 0.25 * 5.0),
        ({"share": 0.5}, 0.4, 5.0),
        ({"share": 0.0}, 0.6, 1.0),
        ({"share": 1.0}, 1.0, 1.0),
        ({"share": 0.0, "promoted_by": ("wet",)}, 3.0 * 0.6, 1.0),
    ],
    ids=["promoted", "demoted", "both modes", "hard alone", "comes and goes alone", "promoted and hard alone"],
)
def test_a_circumstance_multiplies_the_rate_of_each_mode(fields: dict[str, Any], hard: float, sleeping: float) -> None:
    """By its factors for what it promotes, for what it demotes, and for faults that do or do not come and go."""
    found, share = priors("wet", **fields), fields["share"]
    expected = chance(0.2 * (1.0 - share) * hard), chance(0.2 * share * sleeping)
    assert (found.hard, found.comes_and_goes) == pytest.approx(expected)


@pytest.mark.parametrize(("field", "factor"), [("promoted_by", 10.0), ("demoted_by", 0.1)])
def test_the_factors_together_are_held_within_bounds(field: str, factor: float) -> None:
    """Three times eight would be 24, a twentieth of a half a fortieth."""
    found = priors("wet", "very", share=1.0, **{field: ("wet", "very")})
    assert found.comes_and_goes == pytest.approx(chance(0.2 * factor))


def test_after_thousands_of_hours_the_modes_share_what_there_is() -> None:
    """In proportion to what is expected of each; together they stay below one."""
    found = priors(hours=1e5, share=0.25)
    assert found.hard + found.comes_and_goes == pytest.approx(1.0 - 1e-12, abs=1e-13)
    assert found.hard / found.comes_and_goes == pytest.approx(3.0)


def test_odds_are_against_the_absence_of_both_modes() -> None:
    """0.2 and 0.3 against 0.5."""
    assert ModePriors(0.2, 0.3).odds == pytest.approx((0.4, 0.6))


def test_a_circumstance_that_the_book_does_not_have_is_refused() -> None:
    """By its name."""
    with pytest.raises(UnknownName, match="no circumstance 'dry'"):
        priors("dry")


def small() -> Book:
    return make_book([fault("f.bad", rate=2.0)], defaults=Defaults(hours=50.0))


def test_hours_that_nobody_knows_are_those_of_the_book() -> None:
    """Fifty here."""
    believer = Believer(small())
    assert believer.priors(Evidence())["f.bad"].hard == pytest.approx(chance(0.1))
    assert believer.priors(Evidence(hours=10.0))["f.bad"].hard == pytest.approx(chance(0.02))


@pytest.mark.parametrize("hours", [0.0, -1.0, math.inf, math.nan])
def test_hours_have_to_be_a_number_above_0(hours: float) -> None:
    """Nothing can be expected of none."""
    with pytest.raises(BadAnswer):
        Believer(small()).priors(Evidence(hours=hours))


def test_less_than_an_hour_is_an_hour_too() -> None:
    """Half of one."""
    assert Believer(small()).priors(Evidence(hours=0.5))["f.bad"].hard == pytest.approx(chance(0.001))
