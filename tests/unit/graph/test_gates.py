"""Gates on packed columns, against a plain recursive reading of each gate for one fault set at a time."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.book.model import Book, Event
from faulttree.errors import UnknownName
from faulttree.graph.gates import Gates
from tests.support.belief_cases import law
from tests.support.books import fault, gate, make_book

FAULTS = ["a", "b", "c", "d"]


def holds(book: Book, name: str, standing: frozenset[str]) -> bool:
    """One fault or event on one fault set, by the words of the gates."""
    if name in book.faults:
        return name in standing
    event = book.events[name]
    number = [holds(book, part, standing) for part in event.of].count(True)
    if event.gate == "any_of":
        return number >= 1
    if event.gate == "all_of":
        return number == len(event.of)
    return number >= event.count if event.gate == "at_least" else number == 0


@st.composite
def books(draw: st.DrawFn) -> Book:
    """Up to six events over four faults, each looking at faults and earlier events."""
    events: list[Event] = []
    for number in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["any_of", "all_of", "at_least", "not"]))
        names = FAULTS + [event.id for event in events]
        of = draw(st.lists(st.sampled_from(names), min_size=kind != "any_of", max_size=4, unique=True))
        count = draw(st.integers(1, len(of))) if kind == "at_least" else 0
        events.append(gate(f"e{number}", kind, *of, count=count))
    return make_book([fault(name) for name in FAULTS], events)


@law
@given(books())
def test_columns_hold_what_the_gates_say_of_every_fault_set(book: Book) -> None:
    """On all sixteen fault sets every event holds exactly where its gate, read word by word, holds."""
    sets = [frozenset(f for f, there in zip(FAULTS, row, strict=True) if there) for row in product([0, 1], repeat=4)]
    presence = np.packbits([[name in each for each in sets] for name in FAULTS], axis=1)
    truth = Gates(book).truth([*book.events, *FAULTS], FAULTS, presence)
    for name, column in truth.items():
        bits = np.unpackbits(column, count=len(sets)).astype(bool).tolist()
        assert bits == [holds(book, name, each) for each in sets], name


@law
@given(books())
def test_no_event_depends_on_a_fault_that_is_not_below_it(book: Book) -> None:
    """Adding to a fault set what does not lie below an event leaves that event as it was."""
    gates = Gates(book)
    for name in book.events:
        others = frozenset(FAULTS) - gates.below(name)
        for row in product([0, 1], repeat=4):
            standing = frozenset(f for f, there in zip(FAULTS, row, strict=True) if there)
            assert holds(book, name, standing) == holds(book, name, standing | others)


def test_what_lies_below_is_all_faults_of_all_branches() -> None:
    """Below an event are the faults of the events it looks at, however deep; below a fault is itself."""
    events = [gate("low", "all_of", "a", "b"), gate("high", "any_of", "low", "c"), gate("no", "not", "high")]
    gates = Gates(make_book([fault(name) for name in FAULTS], events))
    assert gates.below("no") == {"a", "b", "c"}
    assert gates.below("d") == {"d"}


def test_a_fault_without_a_row_counts_as_absent() -> None:
    """An event of two faults of which one has no row holds where the other one stands."""
    book = make_book([fault("a"), fault("b")], [gate("any", "any_of", "a", "b"), gate("both", "all_of", "a", "b")])
    truth = Gates(book).truth(["any", "both"], ["a"], np.array([[0b10100000]], dtype=np.uint8))
    assert (truth["any"].tolist(), truth["both"].tolist()) == ([0b10100000], [0])


def test_a_long_ladder_of_events_is_no_trouble() -> None:
    """Five thousand events one on top of the other are worked out."""
    events = [gate("e0", "any_of", "a")] + [gate(f"e{n}", "any_of", f"e{n - 1}") for n in range(1, 5000)]
    gates = Gates(make_book([fault("a")], events))
    assert gates.truth(["e4999"], ["a"], np.array([[7]], dtype=np.uint8))["e4999"].tolist() == [7]
    assert gates.below("e4999") == {"a"}


@pytest.mark.parametrize(
    "ask", [lambda g: g.below("nose"), lambda g: g.truth(["nose"], [], np.zeros((0, 1), np.uint8))]
)
def test_an_unknown_name_is_refused(ask: object) -> None:
    """A name that is neither fault nor event is named in the refusal."""
    with pytest.raises(UnknownName, match="'nose'"):
        ask(Gates(make_book([fault("a")])))  # type: ignore[operator] # either of the two calls above
