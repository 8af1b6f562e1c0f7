"""Figures of a symptom's tree against arithmetic by hand."""

from __future__ import annotations

import pytest

from faulttree.book.model import Book
from faulttree.errors import FaulttreeError
from faulttree.workshop.treefigures import tree_paper
from tests.support.books import fault, gate, make_book, symptom


def book() -> Book:
    """``a`` with ``b``, or ``c`` by itself."""
    return make_book(
        faults=[fault("a.x", probability=0.1), fault("b.x", probability=0.2), fault("c.x", probability=0.01)],
        events=[gate("both", "all_of", "a.x", "b.x"), gate("top", "any_of", "both", "c.x")],
        symptoms=[symptom("dead", "top", unlisted=0.1)],
    )


def test_probability_and_importance() -> None:
    """P = 1 − (1 − 0.1 × 0.2)(1 − 0.01); Birnbaum and Fussell-Vesely by their definitions (IEC 61025)."""
    paper = tree_paper(book(), "dead")
    whole = 1 - (1 - 0.02) * (1 - 0.01)
    assert paper["probability"] == pytest.approx(whole)
    by_id = {one["id"]: one for one in paper["faults"]}
    assert by_id["a.x"]["birnbaum"] == pytest.approx(0.2 * 0.99)
    assert by_id["c.x"]["birnbaum"] == pytest.approx(0.98)
    assert by_id["a.x"]["fussell_vesely"] == pytest.approx(0.02 / whole)
    assert [one["id"] for one in paper["faults"]] == ["a.x", "b.x", "c.x"]


def test_cut_sets_come_by_probability() -> None:
    """0.02 of 0.03 and 0.01 of 0.03, each with the numbers of its circles."""
    paper = tree_paper(book(), "dead", most=1)
    (first,) = paper["cut_sets"]
    assert (first["faults"], first["share"]) == (["b.x", "a.x"], pytest.approx(2 / 3))
    assert paper["cut_sets_in_all"] == 2
    numbers = {one["id"]: one["number"] for one in paper["faults"]}
    assert first["numbers"] == [numbers["b.x"], numbers["a.x"]]


def test_rates_count_for_the_hours() -> None:
    """A fault with a rate of 1 per 1000 hours has 1 − e^−0.1 in a hundred hours."""
    rated = make_book(faults=[fault("a.x", rate=1.0)], symptoms=[symptom("dead", "a.x")])
    assert tree_paper(rated, "dead", hours=100.0)["probability"] == pytest.approx(1 - 2.718281828459045**-0.1)


@pytest.mark.parametrize("hours", [0.0, -1.0, 1e9, float("nan")])
def test_hours_out_of_bounds_are_refused(hours: float) -> None:
    """With the bounds in the message."""
    with pytest.raises(FaulttreeError, match="between 0 and 20000"):
        tree_paper(book(), "dead", hours=hours)


def test_a_set_beside_which_something_must_be_in_order_is_a_bound() -> None:
    """c.x and not b.x: the set c.x has 0.01, the event 0.01 x (1 - b); the paper says that it is a bound."""
    faults = [fault("b.x", probability=0.2), fault("c.x", probability=0.01)]
    events = [gate("fine", "not", "b.x"), gate("top", "all_of", "fine", "c.x")]
    paper = tree_paper(make_book(faults, events, [symptom("dead", "top")]), "dead")
    assert paper["bounds"]
    assert paper["probability"] == pytest.approx(0.01 * 0.8)
    assert paper["cut_sets"][0]["probability"] == pytest.approx(0.01)
    assert not tree_paper(book(), "dead")["bounds"]
