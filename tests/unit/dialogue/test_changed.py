"""What the last answer changed."""

from __future__ import annotations

import pytest

from faulttree.book.model import Book
from faulttree.dialogue import Dialogue, NewEntry
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


HUMMED = NewEntry("answer", {"check": "motor-sound", "outcome": "hummed", "sure": True})


def test_before_and_after_are_what_belief_said_then_and_says_now(book: Book) -> None:
    """The same figures as the rankings of the two moments."""
    dialogue = Dialogue(book)
    before = dialogue.believe(state(book)).faults["motor.brushes-worn"].probability
    now = dialogue.believe(state(book, HUMMED)).faults["motor.brushes-worn"].probability
    name = book.faults["motor.brushes-worn"].name
    (told,) = [one for one in view(dialogue, state(book, HUMMED), "changed").moved if one.name == name]
    assert (told.was, told.now) == pytest.approx((before, now))


def test_it_says_what_rose_and_what_fell(book: Book) -> None:
    """In words, the answer first."""
    shown = view(Dialogue(book), state(book, HUMMED), "changed")
    assert "It hummed" in shown.title
    assert book.faults["motor.brushes-worn"].name in shown.lines[0]
    assert book.faults["guard-switch.stuck"].name in shown.lines[1]


def test_with_the_squawk_alone_there_is_nothing_to_compare(book: Book) -> None:
    """It says so."""
    assert view(Dialogue(book), state(book), "changed").moved == ()


def test_an_answer_taken_back_is_not_the_last(book: Book) -> None:
    """What is undone moved nothing."""
    undone = NewEntry("undone", {"entry": len(state(book, HUMMED).entries)})
    assert view(Dialogue(book), state(book, HUMMED, undone), "changed").moved == ()
