"""Going on with a book that has changed: answers whose check has changed count once they are confirmed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from faulttree.belief import Answer
from faulttree.book.model import Book
from faulttree.case import CaseEntry, add_up, changes
from faulttree.dialogue import Dialogue
from faulttree.dialogue.resuming import changed_lines
from tests.support.small_family import small_book

LOG: list[tuple[str, dict[str, Any]]] = [
    ("opened", {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "d"}),
    ("squawk", {"text": "stays down"}),
    ("symptom", {"symptom": "stays-down", "present": True}),
    ("symptoms-settled", {}),
    ("answer", {"check": "motor-sound", "outcome": "silent", "sure": True}),
    ("set-up", {"condition": "on-jacks"}),
    ("answer", {"check": "switch-continuity", "outcome": "jumps", "sure": True}),
]


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def entries(*more: tuple[str, dict[str, Any]]) -> list[CaseEntry]:
    return [CaseEntry(i, "", "mechanic", kind, data) for i, (kind, data) in enumerate([*LOG, *more], 1)]


def with_check(book: Book, name: str, **fields: Any) -> Book:
    """The book with something of one check changed."""
    return replace(book, checks={**book.checks, name: replace(book.checks[name], **fields)}, version="2")


def gone_on(new: Book, numbers: list[int], *more: tuple[str, dict[str, Any]]) -> list[CaseEntry]:
    return entries(
        ("knowledge", {"version": new.version, "digest": "e", "overlays": [], "unconfirmed": numbers}), *more
    )


def test_other_words_of_a_check_want_its_answer_confirmed(book: Book) -> None:
    """The question asks something else now."""
    new = with_check(book, "motor-sound", ask="Was the motor heard for more than five seconds?")
    assert changes(book, new, entries()).unconfirmed == (5,)


def test_what_was_passed_over_need_not_be_confirmed(book: Book) -> None:
    """Whatever it would ask now, nobody answered it."""
    passed = ("skipped", {"check": "motor-sound", "reason": "not-asked"})
    told = [entry for entry in entries(passed) if entry.number != 5]
    assert changes(book, with_check(book, "motor-sound", ask="Another question?"), told).unconfirmed == ()


@pytest.mark.parametrize("fields", [{"minutes": 99.0}, {"false_alarm": 0.2}, {"equipment": ("torch",)}])
def test_what_the_answer_does_not_depend_on_asks_nothing(book: Book, fields: dict[str, Any]) -> None:
    """Minutes, equipment and how far a check is trusted change the ranking alone."""
    assert changes(book, with_check(book, "motor-sound", **fields), entries()).unconfirmed == ()


def test_what_the_case_rests_on_and_the_book_lost_is_named(book: Book) -> None:
    """A symptom, a standing condition, a check that is gone: with those the case keeps its book."""
    conditions = {name: c for name, c in book.conditions.items() if name != "on-jacks"}
    checks = {name: c for name, c in book.checks.items() if name != "motor-sound"}
    lost = changes(book, replace(book, conditions=conditions, checks=checks, symptoms={}), entries()).lost
    assert lost == ("symptom 'stays-down' (entry 3)", "check 'motor-sound' (entry 5)", "condition 'on-jacks' (entry 6)")


def test_an_unconfirmed_answer_does_not_count(book: Book) -> None:
    """It stays in the log, and belief is without it."""
    state = add_up(book, gone_on(book, [5]))
    assert [e.check for e in state.evidence if isinstance(e, Answer)] == ["switch-continuity"]
    assert state.unconfirmed == [5]


@pytest.mark.parametrize(
    ("counts", "checks"), [(True, ["motor-sound", "switch-continuity"]), (False, ["switch-continuity"])]
)
def test_confirmed_it_counts_where_it_was_given(book: Book, counts: bool, checks: list[str]) -> None:
    """Confirmed: in its old place; left out: for good."""
    state = add_up(book, gone_on(book, [5], ("confirmed", {"entry": 5, "counts": counts})))
    assert [e.check for e in state.evidence if isinstance(e, Answer)] == checks
    assert state.unconfirmed == []


def test_the_dialogue_asks_before_anything_else(book: Book) -> None:
    """One answer after the other, in the words of the changed check."""
    new = with_check(book, "motor-sound", ask="Did it hum?")
    prompt = Dialogue(new).prompt(add_up(new, gone_on(new, [5])))
    assert prompt is not None
    assert prompt.topic == "confirm"
    assert any("Did it hum?" in line for line in prompt.lines)


def test_an_outcome_that_is_gone_cannot_be_confirmed(book: Book) -> None:
    """There is nothing that it could count as."""
    silent = book.checks["motor-sound"].outcomes[-1]
    new = with_check(book, "motor-sound", outcomes=(book.checks["motor-sound"].outcomes[0], replace(silent, id="mute")))
    prompt = Dialogue(new).prompt(add_up(new, gone_on(new, [5])))
    assert prompt is not None
    assert [choice.value for choice in prompt.choices] == ["no"]


def test_the_change_of_the_ranking_is_told(book: Book) -> None:
    """Versions, the ranking then and now, and how many answers wait."""
    new = with_check(book, "motor-sound", ask="Did it hum?")
    lines = "\n".join(changed_lines((book, add_up(book, entries())), (new, add_up(new, gone_on(new, [5])))))
    assert "is now 2 (" in lines
    assert lines.count("lead chafed") == 2
    assert "1 answer counts only once confirmed" in lines
