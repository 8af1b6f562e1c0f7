"""Answers that fit together badly: said on the main screen, with the one to repeat."""

from __future__ import annotations

from dataclasses import replace

from faulttree.book.model import Book
from faulttree.dialogue import Dialogue, NewEntry
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view


def _answer(check: str, outcome: str) -> NewEntry:
    return NewEntry("answer", {"check": check, "outcome": outcome, "sure": True})


def _sensitive(bits: float) -> Book:
    """Answers fit badly from so many bits of conflict."""
    book = small_book()
    return replace(book, defaults=replace(book.defaults, conflict_bits=bits))


def _warned(book: Book, *answers: tuple[str, str]) -> str:
    board = view(Dialogue(book), state(book, *(_answer(*a) for a in answers)), "").board
    assert board is not None
    return " ".join(board.warnings)


def test_the_answer_without_which_the_others_fit_best_is_named() -> None:
    """A motor that hums speaks of a gear that binds, a switch measured open of the switch."""
    told = _warned(_sensitive(1.0), ("motor-sound", "hummed"), ("switch-continuity", "open"))
    assert told == "The answers fit together badly; Motor heard fits least, repeat it."


def test_below_the_bits_of_the_book_nothing_is_said() -> None:
    assert "badly" not in _warned(_sensitive(2.0), ("motor-sound", "hummed"), ("switch-continuity", "open"))
