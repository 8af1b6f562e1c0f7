"""A case taken up again, by the log alone."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Dialogue, Prompt, Reply
from tests.support.small_family import small_book

LOG: list[tuple[str, str, dict[str, Any]]] = [
    ("day", "opened", {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "d"}),
    ("day", "squawk", {"text": "stays down"}),
    ("day", "symptom", {"symptom": "stays-down", "present": True}),
    ("day", "symptoms-settled", {}),
    ("day", "set-up", {"condition": "on-jacks"}),
    ("day", "started", {"kind": "check", "id": "switch-continuity"}),
    ("day", "cautions", {"step": "switch-continuity", "cautions": []}),
]


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def state(book: Book, *more: tuple[str, str, dict[str, Any]]) -> CaseState:
    return add_up(book, [CaseEntry(i, "", w, k, d) for i, (w, k, d) in enumerate([*LOG, *more], 1)])


def asked(book: Book, now: CaseState, view: str) -> Prompt:
    prompt = Dialogue(book).prompt(now, view)
    assert prompt is not None
    return prompt


def test_it_is_asked_how_the_aircraft_stands(book: Book) -> None:
    """What stands by the log is on the screen, by name."""
    lines = asked(book, state(book), "as-it-stands").lines
    assert f"- {book.conditions['on-jacks'].name}" in lines


@pytest.mark.parametrize("who", ["day", "night"])
def test_whoever_takes_up_a_step_reads_its_cautions(book: Book, who: str) -> None:
    """Another person has not read them; the same one a day ago."""
    step = state(book, (who, "stands", {})).step
    assert step is not None
    assert not step.acknowledged


def test_what_is_found_standing_replaces_what_the_log_says(book: Book) -> None:
    """With what it implies; a step in hand begins with its cautions again."""
    now = state(book, ("day", "found-standing", {"standing": ["floor-panel-out"]}))
    assert "on-jacks" not in now.standing
    assert "floor-panel-out" in now.standing
    assert now.step is not None
    assert not now.step.acknowledged


def answered(book: Book, typed: str) -> Reply:
    now = state(book)
    return Dialogue(book).accept(now, asked(book, now, "stands-now"), typed)


def keys(book: Book, *conditions: str) -> str:
    choices = asked(book, state(book), "stands-now").choices
    return " ".join(choice.key for choice in choices if choice.value in conditions)


def test_numbers_name_what_stands(book: Book) -> None:
    """The entry holds their ids."""
    reply = answered(book, keys(book, "floor-panel-out", "on-jacks"))
    assert set(reply.entries[0].data["standing"]) == {"floor-panel-out", "on-jacks"}


def test_a_dash_says_that_nothing_stands(book: Book) -> None:
    """Not even what the log says."""
    assert answered(book, "-").entries[0].data == {"standing": []}


@pytest.mark.parametrize("typed", ["", "77", "1 x"])
def test_nonsense_is_asked_again(book: Book, typed: str) -> None:
    """No entry, and the same question."""
    reply = answered(book, typed)
    assert (reply.entries, reply.view) == ((), "stands-now")


def test_what_cannot_stand_together_is_refused_by_name(book: Book) -> None:
    """The pair is named in words."""
    pair = next((c.id, c.excludes[0]) for c in book.conditions.values() if c.excludes and c.proposed)
    reply = answered(book, keys(book, *pair))
    assert reply.entries == ()
    assert book.conditions[pair[0]].name in reply.say
