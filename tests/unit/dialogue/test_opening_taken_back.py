"""An answer given before the work begins can be taken back before it begins."""

from __future__ import annotations

import pytest

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Dialogue, NewEntry, Prompt
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import OPENED, view


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def _first(book: Book, count: int, *more: NewEntry) -> CaseState:
    entries = (*OPENED[:count], *more)
    return add_up(book, [CaseEntry(n, "", "mechanic", e.kind, e.data) for n, e in enumerate(entries, 1)])


@pytest.mark.parametrize(("count", "topic"), [(4, "opening"), (6, "circumstances"), (7, "hours")])
def test_u_leads_to_the_answers_given(book: Book, count: int, topic: str) -> None:
    """At a key and at a line of words."""
    dialogue, now = Dialogue(book), _first(book, count)
    asked = view(dialogue, now, "")
    typed = next((c.value for c in asked.commands if c.key == "u"), "u")
    assert (asked.topic, dialogue.accept(now, asked, typed).view) == (topic, "take-back")


def test_words_typed_wrong_are_taken_back_at_the_first_question(book: Book) -> None:
    """Asked anew, and what is heard in the new words is asked about."""
    dialogue, now = Dialogue(book), _first(book, 2)
    assert any(command.key == "u" for command in view(dialogue, now, "").commands)
    reply = dialogue.accept(now, view(dialogue, now, "take-back-sure 2"), "2")
    assert view(dialogue, _first(book, 2, *reply.entries), "").topic == "squawk"
    anew = _first(book, 2, *reply.entries, NewEntry("squawk", {"text": "gear stays down"}))
    assert (anew.squawk, view(dialogue, anew, "").about) == ("gear stays down", "stays-down")


def test_with_the_squawk_taken_back_later_what_was_answered_stands(book: Book) -> None:
    """The words are asked for anew, then what else there was; symptoms and answers stay."""
    dialogue, now = Dialogue(book), _first(book, 8)
    reply = dialogue.accept(now, view(dialogue, now, "take-back-sure 2"), "2")
    anew = _first(book, 8, *reply.entries, NewEntry("squawk", {"text": "gear stays down"}))
    assert view(dialogue, anew, "").topic == "more-symptoms"
    assert (anew.reported, anew.opening, anew.hours_asked) == (now.reported, now.opening, True)


def test_the_question_is_asked_again(book: Book) -> None:
    """What was said of the emergency means is wanted anew."""
    now = _first(book, 6, NewEntry("undone", {"entry": 5}))
    assert view(Dialogue(book), now, "").about == "lowered-by-emergency-means"


@pytest.mark.parametrize("count", [4, 6, 8])
def test_with_a_symptom_taken_back_it_is_asked_again_what_else_there_was(book: Book, count: int) -> None:
    """The symptom itself first, then anything else; the answers given since still stand."""
    dialogue, now = Dialogue(book), _first(book, count)
    reply = dialogue.accept(now, dialogue_sure(dialogue, now), "3")
    after = _first(book, count, *reply.entries)
    assert (view(dialogue, after, "").topic, view(dialogue, after, "").about) == ("symptom", "stays-down")
    denied = NewEntry("symptom", {"symptom": "stays-down", "present": False})
    assert view(dialogue, _first(book, count, *reply.entries, denied), "").topic == "more-symptoms"
    assert after.opening == now.opening


def dialogue_sure(dialogue: Dialogue, now: CaseState) -> Prompt:
    """Whether the symptom, the third entry, is to be taken back."""
    return view(dialogue, now, "take-back-sure 3")


def test_the_hours_are_the_latest_answer(book: Book) -> None:
    """Taken back first, and asked for again: a number typed wrong is put right at once."""
    dialogue, now = Dialogue(book), _first(book, 8)
    assert view(dialogue, now, "take-back").choices[0].value == "8"
    assert view(dialogue, _first(book, 8, NewEntry("undone", {"entry": 8})), "").topic == "hours"
