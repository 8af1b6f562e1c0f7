"""Probabilities and importance, against sums over all fault sets."""

from __future__ import annotations

import math

import pytest
from hypothesis import given

from faulttree.book.model import Book
from faulttree.errors import UnknownName
from faulttree.graph.cutsets import minimal_cut_sets
from faulttree.graph.quantify import Diagram, shares
from tests.support.books import fault, gate, make_book
from tests.support.trees import COHERENT, WORLDS, Probabilities, holds, law, probabilities, trees, weight

EXACT = 1e-12


@law
@given(trees(), probabilities())
def test_the_probability_is_the_sum_over_the_fault_sets_on_which_the_event_holds(book: Book, p: Probabilities) -> None:
    """The exact probability, zeros and ones among the faults' included."""
    total = math.fsum(weight(p, world) for world in WORLDS if holds(book, "top", world))
    assert Diagram(book, "top").probability(p) == pytest.approx(total, abs=EXACT)


@law
@given(trees(), probabilities())
def test_birnbaum_is_what_the_fault_makes_of_the_event(book: Book, p: Probabilities) -> None:
    """The probability with the fault for certain less that without it."""
    for name, found in Diagram(book, "top").importance(p).items():
        with_it, without = (
            math.fsum(weight({**p, name: chance}, world) for world in WORLDS if holds(book, "top", world))
            for chance in (1.0, 0.0)
        )
        assert found.birnbaum == pytest.approx(with_it - without, abs=EXACT)


@law
@given(trees(), probabilities(0.01, 0.99))
def test_fussell_vesely_is_the_chance_given_the_event_that_a_cut_set_with_the_fault_is_there(
    book: Book, p: Probabilities
) -> None:
    """The share, in the event's probability, of the fault sets that hold one of the fault's cut sets."""
    event = [world for world in WORLDS if holds(book, "top", world)]
    total = math.fsum(weight(p, world) for world in event)
    cut_sets = minimal_cut_sets(book, "top")
    for name, found in Diagram(book, "top").importance(p).items():
        mine = [world for world in event if any(name in one and one <= world for one in cut_sets)]
        share = math.fsum(weight(p, world) for world in mine) / total if total else 0.0
        assert found.fussell_vesely == pytest.approx(share, abs=1e-9)


def test_a_cut_set_that_a_further_fault_undoes_counts_only_with_the_event() -> None:
    """ "Exactly one of two": of the four equally likely sets two show it, one of them through each fault."""
    events = [gate("both", "all_of", "a", "b"), gate("not-both", "not", "both"), gate("some", "any_of", "a", "b")]
    book = make_book([fault("a"), fault("b")], [*events, gate("top", "all_of", "some", "not-both")])
    found = Diagram(book, "top").importance({"a": 0.5, "b": 0.5})
    assert [found[name].fussell_vesely for name in "ab"] == pytest.approx([0.5, 0.5])


@law
@given(trees(COHERENT), probabilities(0.01, 0.99))
def test_in_a_coherent_tree_no_fault_keeps_the_event_away(book: Book, p: Probabilities) -> None:
    """Without ``not`` Birnbaum's importance is never negative."""
    assert all(found.birnbaum >= 0.0 for found in Diagram(book, "top").importance(p).values())


def test_a_rare_event_keeps_its_digits() -> None:
    """Three faults at once, each with 1e-7, under two ``not`` one upon the other: 1e-21 to twelve digits."""
    events = [gate("all", "all_of", "a", "b", "c"), gate("no", "not", "all"), gate("top", "not", "no")]
    book = make_book([fault(name) for name in "abc"], events)
    assert Diagram(book, "top").probability(dict.fromkeys("abc", 1e-7)) == pytest.approx(1e-21, rel=1e-12)


def test_shares_are_of_the_sum_of_the_cut_sets() -> None:
    """Two cut sets of 0.1 and 0.2 x 0.5 share alike; with nothing to share all have none."""
    one, two = frozenset("a"), frozenset("bc")
    assert shares([one, two], {"a": 0.1, "b": 0.2, "c": 0.5}) == pytest.approx({one: 0.5, two: 0.5})
    assert shares([one], {"a": 0.0}) == {one: 0.0}


def test_what_is_not_a_probability_is_refused() -> None:
    """A fault without a probability, and one outside 0 … 1, are named."""
    diagram = Diagram(make_book([fault("a"), fault("b")], [gate("top", "any_of", "a", "b")]), "top")
    with pytest.raises(UnknownName, match="no probability is given for b"):
        diagram.probability({"a": 0.1})
    with pytest.raises(ValueError, match=r"b has 1\.5"):
        diagram.probability({"a": 0.1, "b": 1.5})


def test_an_unknown_name_is_refused() -> None:
    """A diagram of an event that the book does not have is refused by its name."""
    with pytest.raises(UnknownName, match="'nose'"):
        Diagram(make_book([fault("a")]), "nose")
