"""Gates on packed columns, against a plain reading of each gate for one fault set at a time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from faulttree.book.model import Book
from faulttree.errors import UnknownName
from faulttree.graph.gates import Gates
from tests.support.books import fault, gate, make_book
from tests.support.trees import FAULTS, WORLDS, holds, law, trees


@law
@given(trees())
def test_columns_hold_what_the_gates_say_of_every_fault_set(book: Book) -> None:
    """On all 32 fault sets every event holds exactly where its gate, read word by word, holds."""
    presence = np.packbits([[name in world for world in WORLDS] for name in FAULTS], axis=1)
    truth = Gates(book).truth([*book.events, *FAULTS], FAULTS, presence)
    for name, column in truth.items():
        bits = np.unpackbits(column, count=len(WORLDS)).astype(bool).tolist()
        assert bits == [holds(book, name, world) for world in WORLDS], name


@law
@given(trees())
def test_no_event_depends_on_a_fault_that_is_not_below_it(book: Book) -> None:
    """Adding to a fault set what does not lie below an event leaves that event as it was."""
    gates = Gates(book)
    for name in book.events:
        others = frozenset(FAULTS) - gates.below(name)
        for world in WORLDS:
            assert holds(book, name, world) == holds(book, name, world | others)


def test_what_lies_below_is_all_faults_of_all_branches() -> None:
    """Below an event are the faults of the events it looks at, however deep; below a fault is itself."""
    events = [gate("low", "all_of", "a", "b"), gate("high", "any_of", "low", "c"), gate("no", "not", "high")]
    gates = Gates(make_book([fault(name) for name in FAULTS], events))
    assert gates.below("no") == {"a", "b", "c"}
    assert gates.below("d") == {"d"}


def test_events_come_after_what_they_look_at() -> None:
    """The events at and below a name, and no others, in an order in which they can be worked out."""
    events = [gate("low", "any_of", "a"), gate("high", "any_of", "low"), gate("other", "any_of", "b")]
    assert Gates(make_book([fault("a"), fault("b")], events)).events_at(["high"]) == ["low", "high"]


def test_a_fault_without_a_row_counts_as_absent() -> None:
    """An event of two faults of which one has no row holds where the other one stands, or never."""
    book = make_book([fault("a"), fault("b")], [gate("any", "any_of", "a", "b"), gate("both", "all_of", "a", "b")])
    truth = Gates(book).truth(["any", "both"], ["a"], np.array([[0b10100000]], dtype=np.uint8))
    assert (truth["any"].tolist(), truth["both"].tolist()) == ([0b10100000], [0])


def test_a_long_ladder_of_events_is_no_trouble() -> None:
    """Five thousand events one on top of the other are worked out."""
    events = [gate("e0", "any_of", "a")] + [gate(f"e{n}", "any_of", f"e{n - 1}") for n in range(1, 5000)]
    gates = Gates(make_book([fault("a")], events))
    assert gates.truth(["e4999"], ["a"], np.array([[7]], dtype=np.uint8))["e4999"].tolist() == [7]
    assert gates.below("e4999") == {"a"}


def test_an_unknown_name_is_refused() -> None:
    """A name that is neither fault nor event is named, whatever is asked of it."""
    gates = Gates(make_book([fault("a")]))
    with pytest.raises(UnknownName, match="'nose'"):
        gates.below("nose")
    with pytest.raises(UnknownName, match="'nose'"):
        gates.truth(["nose"], [], np.zeros((0, 1), np.uint8))
