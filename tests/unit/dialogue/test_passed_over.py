"""A check that belongs before another and was passed over: told before it is too late, and never in the way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.book.model import Book
from faulttree.dialogue import Dialogue, NewEntry
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view

BEGUN = NewEntry("started", {"kind": "check", "id": "switch-continuity"})


@pytest.fixture(scope="module")
def book() -> Book:
    """Continuity belongs behind listening to the motor, and pays more than anything else."""
    small = small_book()
    later = replace(small.checks["switch-continuity"], after=("motor-sound",))
    return replace(small, checks={**small.checks, later.id: later})


def passed_over(reason: str) -> NewEntry:
    return NewEntry("skipped", {"check": "motor-sound", "reason": reason, "why": "radio on"})


def said(book: Book, *entries: NewEntry) -> str:
    return "\n".join(view(Dialogue(book), state(book, *entries), "").lines)


def test_it_is_told_at_the_step(book: Book) -> None:
    """On its first page, by the name of what was passed over."""
    name = book.checks["motor-sound"].name
    assert f"was not done: {name}." in said(book, passed_over("not-done"), BEGUN)


def test_it_is_told_where_the_step_is_proposed(book: Book) -> None:
    """Before anybody has taken it."""
    board = view(Dialogue(book), state(book, passed_over("not-done")), "").board
    assert board is not None
    assert board.suggestion is not None
    assert board.suggestion.id == "switch-continuity"
    assert any(book.checks["motor-sound"].name in warning for warning in board.warnings)


@pytest.mark.parametrize("reason", ["cannot-tell", "does-not-apply"])
def test_what_told_nothing_was_done(book: Book, reason: str) -> None:
    """It was looked at, or there is nothing to look at: nothing is lost by the later step."""
    assert "was not done" not in said(book, passed_over(reason), BEGUN)


def test_the_dialogue_knows_what_does_not_apply(book: Book) -> None:
    """The answer to why it was not done that makes it no matter."""
    dialogue, now = Dialogue(book), state(book, NewEntry("started", {"kind": "ask", "id": "motor-sound"}))
    asked = view(dialogue, now, "not-done")
    value = next(choice.value for choice in asked.choices if "does not apply" in choice.label)
    entry = dialogue.accept(now, asked, value).entries[0]
    assert (entry.kind, entry.data) == ("skipped", {"check": "motor-sound", "reason": "does-not-apply"})


def test_what_is_done_after_all_is_not_told(book: Book) -> None:
    """The answer came late, and it came."""
    heard = NewEntry("answer", {"check": "motor-sound", "outcome": "silent", "sure": True})
    assert "was not done" not in said(book, passed_over("not-done"), heard, BEGUN)


def test_a_repair_does_not_make_it_done(book: Book) -> None:
    """What was passed over stays so, whatever is mended."""
    mended = NewEntry("did", {"action": "mend-lead"})
    assert "was not done" in said(book, passed_over("not-done"), mended, BEGUN)
