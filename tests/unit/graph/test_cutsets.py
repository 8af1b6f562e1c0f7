"""Minimal cut sets, against a search through all fault sets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.book.model import Book
from faulttree.errors import UnknownName
from faulttree.graph.cutsets import minimal_cut_sets
from tests.support.books import fault, gate, make_book
from tests.support.trees import COHERENT, WORLDS, holds, law, smallest, trees


@law
@given(trees())
def test_cut_sets_are_the_smallest_fault_sets_that_bring_the_event_about_alone(book: Book) -> None:
    """All fault sets on which the event holds and no smaller one does, and no others, ``not`` or no ``not``."""
    found = minimal_cut_sets(book, "top")
    assert len(found) == len(set(found))
    assert set(found) == smallest([world for world in WORLDS if holds(book, "top", world)])


@law
@given(trees(COHERENT))
def test_a_coherent_event_holds_exactly_where_a_cut_set_is_there(book: Book) -> None:
    """Without ``not`` the cut sets say all there is to say about the event."""
    found = minimal_cut_sets(book, "top")
    for world in WORLDS:
        assert holds(book, "top", world) == any(one <= world for one in found)


@law
@given(trees(), st.integers(0, 4))
def test_a_largest_size_leaves_out_larger_sets_and_nothing_else(book: Book, largest: int) -> None:
    """Held down to a size, the cut sets are those of all cut sets that have that size or less."""
    whole = minimal_cut_sets(book, "top")
    assert minimal_cut_sets(book, "top", largest) == [one for one in whole if len(one) <= largest]


@pytest.mark.parametrize(("n", "count"), [(n, count) for n in range(1, 6) for count in range(1, n + 1)])
def test_fewer_than_so_many_is_at_least_the_rest_absent(n: int, count: int) -> None:
    """The opposite of "k of n" under a second ``not`` is "k of n" again; with a fault beside it, that fault alone."""
    names = list("abcde"[:n])
    events = [gate("some", "at_least", *names, count=count), gate("few", "not", "some"), gate("again", "not", "few")]
    book = make_book([fault(name) for name in names], events)
    assert minimal_cut_sets(book, "again") == minimal_cut_sets(book, "some")
    assert minimal_cut_sets(book, "few") == [frozenset()]


def test_what_must_be_absent_is_kept_in_mind() -> None:
    """Two faults, of which fewer than two of three stand with a third: with any one of the others it cannot be."""
    events = [
        gate("two", "at_least", "a", "b", "c", count=2),
        gate("one", "not", "two"),
        gate("pair", "all_of", "a", "b"),
        gate("top", "all_of", "one", "pair"),
    ]
    assert minimal_cut_sets(make_book([fault(name) for name in "abc"], events), "top") == []


def test_short_sets_come_first() -> None:
    """Shortest first, then by name."""
    events = [gate("pair", "all_of", "a", "b"), gate("top", "any_of", "pair", "d", "c")]
    book = make_book([fault(name) for name in "abcd"], events)
    assert minimal_cut_sets(book, "top") == [{"c"}, {"d"}, {"a", "b"}]


def test_an_event_that_a_sound_gear_shows_has_the_empty_set() -> None:
    """What holds without any fault needs none; what never holds has no cut set."""
    book = make_book([fault("a")], [gate("sound", "not", "a"), gate("never", "any_of")])
    assert minimal_cut_sets(book, "sound") == [frozenset()]
    assert minimal_cut_sets(book, "never") == []


def test_a_thousand_faults_side_by_side_are_no_trouble() -> None:
    """A wide OR has one cut set for each fault; a deep ladder of events has the one at its foot."""
    names = [f"f{n}" for n in range(1000)]
    ladder = [gate("e0", "any_of", "f0")] + [gate(f"e{n}", "not", f"e{n - 1}") for n in range(1, 3001)]
    book = make_book([fault(name) for name in names], [gate("top", "any_of", *names), *ladder])
    assert len(minimal_cut_sets(book, "top")) == 1000
    assert minimal_cut_sets(book, "e3000") == [{"f0"}]


def test_an_unknown_name_is_refused() -> None:
    """Asking for an event that the book does not have names it."""
    with pytest.raises(UnknownName, match="'nose'"):
        minimal_cut_sets(make_book([fault("a")]), "nose")
