"""A case of the small family that has come to its main screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Board, Dialogue, NewEntry, Prompt
from tests.support.small_family import small_book

OPENED = (
    NewEntry("opened", {"family": "made-up", "fitted": [], "job": "QQ-ELM"}),
    NewEntry("squawk", {"text": "wheels wont come up"}),
    NewEntry("symptom", {"symptom": "stays-down", "present": True}),
    NewEntry("symptoms-settled", {}),
    NewEntry("opening", {"question": "lowered-by-emergency-means", "answer": "no"}),
    NewEntry("opening", {"question": "legs-known-locked", "answer": "yes"}),
    NewEntry("circumstance", {"circumstances": []}),
    NewEntry("hours", {"hours": 25.0}),
)


def state(book: Book, *more: NewEntry) -> CaseState:
    """The case with ``more`` entries after its opening."""
    entries = [CaseEntry(n, "", "mechanic", e.kind, e.data) for n, e in enumerate((*OPENED, *more), 1)]
    return add_up(book, entries)


def view(dialogue: Dialogue, now: CaseState, name: str) -> Prompt:
    """A side view of the main screen."""
    prompt = dialogue.prompt(now, name)
    assert prompt is not None
    return prompt


def board_with(labels: Sequence[str]) -> tuple[Book, Board]:
    """The main screen where the next step is a question with these answers."""
    book = small_book()
    shown = view(Dialogue(book), state(book), "").board
    assert shown is not None
    assert shown.suggestion is not None
    check = book.checks[shown.suggestion.id]
    outcomes = tuple(replace(check.outcomes[0], id=f"answer-{i}", label=label) for i, label in enumerate(labels))
    return replace(book, checks={**book.checks, check.id: replace(check, outcomes=outcomes)}), shown
