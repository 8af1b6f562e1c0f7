"""An aircraft's profile: only what is typed, with its reference."""

from __future__ import annotations

import pytest

from faulttree.book.model import Limit
from faulttree.dialogue import profile as p
from faulttree.errors import BadAnswer
from tests.jobs.run import shipped_book

DRAFT = p.Draft("QQ-ELM", "made-up")
LIMIT = Limit("drop", "Highest drop", "V", "section 32", typical=0.5)


def test_a_limit_is_kept_with_its_reference_in_the_unit_of_the_book() -> None:
    """500 mV is half a volt (SI)."""
    kept = p.with_limit(DRAFT, LIMIT, "500 mV; manual 32-30, rev. 7").limits["drop"]
    assert kept == {"value": pytest.approx(0.5), "unit": "V", "reference": "manual 32-30, rev. 7"}


@pytest.mark.parametrize("typed", ["0.5 V", "0.5 V;", "0.5; manual", "x V; manual", "3 psi; manual"])
def test_a_limit_without_unit_or_reference_is_refused(typed: str) -> None:
    """Nothing is taken by halves."""
    with pytest.raises(BadAnswer):
        p.with_limit(DRAFT, LIMIT, typed)


def test_a_dash_takes_a_limit_out_and_nothing_leaves_it() -> None:
    """The older version of the profile still has it."""
    having = p.with_limit(DRAFT, LIMIT, "0.5 V; manual")
    assert p.with_limit(having, LIMIT, "-").limits == {}
    assert p.with_limit(having, LIMIT, " ") == having


def test_a_typical_value_is_shown_as_no_limit() -> None:
    """It is named, and not offered as an answer."""
    prompt = p.ask_value(DRAFT, LIMIT)
    assert any("it is no limit" in line for line in prompt.lines)
    assert prompt.default == ""


@pytest.mark.parametrize("typed", ["28", "-28 V", "28 psi"])
def test_what_is_no_voltage_is_refused(typed: str) -> None:
    """A number without unit, a negative one, another unit."""
    with pytest.raises(BadAnswer):
        p.with_voltage(DRAFT, typed)


def test_each_group_of_options_is_asked_once() -> None:
    """With its members, the usual one marked."""
    found = p.groups(shipped_book("electromechanical"))
    assert len(found) >= 10
    assert all(sum(option.default for option in members) == 1 for members in found.values())
