"""What an opening answer asks for is shown and acknowledged before anything else is asked."""

from __future__ import annotations

import pytest

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Dialogue, NewEntry
from faulttree.dialogue.prompts import Prompt
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import OPENED, view


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def state(book: Book, *more: NewEntry) -> CaseState:
    """The case as far as the opening questions, with ``more``."""
    told = (*OPENED[:4], *more)
    return add_up(book, [CaseEntry(n, "", "mechanic", e.kind, e.data) for n, e in enumerate(told, 1)])


def asked(book: Book, *entries: NewEntry) -> Prompt:
    return view(Dialogue(book), state(book, *entries), "")


def answer(question: str, given: str) -> NewEntry:
    return NewEntry("opening", {"question": question, "answer": given})


def test_a_leg_in_doubt_is_told_of_at_once(book: Book) -> None:
    """Everybody out from under it, with the WARNING and what comes first; then the next question, and not again."""
    question = next(q for q in book.opening if q.id == "legs-known-locked")
    no = next(a for a in question.answers if a.id == "no")
    others = [answer(q.id, next(a.id for a in q.answers if not a.first)) for q in book.opening if q is not question]
    told = asked(book, *others, answer(question.id, "no"))
    assert (told.topic, told.about) == ("first-of-all", question.id)
    assert told.cautions == no.cautions
    assert no.says is not None
    assert no.says in told.lines
    assert all(book.conditions[name].name in " ".join(told.lines) for name in no.first)
    now = state(book, *others, answer(question.id, "no"))
    read = Dialogue(book).accept(now, told, told.choices[0].value).entries
    assert [entry.kind for entry in read] == ["cautions"]
    assert asked(book, *others, answer(question.id, "no"), *read).topic == "circumstances"
    again = asked(book, *others, answer(question.id, "no"), *read, answer(question.id, "not-known"))
    assert again.topic == "first-of-all"


def test_a_harmless_answer_leads_straight_on(book: Book) -> None:
    given = [answer(q.id, next(a.id for a in q.answers if not a.first and not a.says)) for q in book.opening]
    assert asked(book, *given).topic == "circumstances"
