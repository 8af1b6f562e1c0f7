"""What is worked out beside a prompt: what the answers lead to is known when they come, and nothing is waited for."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Dialogue, NewEntry, thinking
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import OPENED, state, view


@pytest.fixture
def dialogue() -> Dialogue:
    return Dialogue(small_book())


def before_hours(dialogue: Dialogue) -> CaseState:
    entries = [CaseEntry(n, "", "mechanic", e.kind, e.data) for n, e in enumerate(OPENED[:-1], 1)]
    return add_up(dialogue.book, entries)


def worked_out(dialogue: Dialogue, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Takes down what is worked out from here on."""
    done: list[str] = []

    def note(worker: Any, name: str) -> None:
        real = getattr(worker, name)

        def noted(*given: Any, **named: Any) -> Any:
            done.append(name)
            return real(*given, **named)

        monkeypatch.setattr(worker, name, noted)

    note(dialogue.believer, "believe")
    note(dialogue.advisor, "advise")
    return done


def test_what_each_answer_leads_to_is_there_before_it(dialogue: Dialogue, monkeypatch: pytest.MonkeyPatch) -> None:
    now = state(dialogue.book)
    asked = view(dialogue, now, "")
    dialogue.beside(now, asked, lambda: False)
    done = worked_out(dialogue, monkeypatch)
    for outcome in dialogue.book.checks[asked.about].outcomes:
        told = {"check": asked.about, "outcome": outcome.id, "sure": True}
        dialogue.prompt(state(dialogue.book, NewEntry("answer", told)))
    assert done == []


def test_what_the_usual_hours_lead_to_is_there_before_them(dialogue: Dialogue, monkeypatch: pytest.MonkeyPatch) -> None:
    now = before_hours(dialogue)
    dialogue.beside(now, view(dialogue, now, ""), lambda: False)
    done = worked_out(dialogue, monkeypatch)
    dialogue.prompt(state(dialogue.book))
    assert done == []


def test_what_if_looks_at_what_was_prepared(dialogue: Dialogue, monkeypatch: pytest.MonkeyPatch) -> None:
    now = state(dialogue.book)
    asked = view(dialogue, now, "")
    dialogue.beside(now, asked, lambda: False)
    done = worked_out(dialogue, monkeypatch)
    view(dialogue, now, f"what-if {asked.about}={dialogue.book.checks[asked.about].outcomes[0].id}")
    assert done == []


def test_nothing_is_worked_out_once_a_key_is_pressed(dialogue: Dialogue, monkeypatch: pytest.MonkeyPatch) -> None:
    now = state(dialogue.book)
    asked = view(dialogue, now, "")
    done = worked_out(dialogue, monkeypatch)
    assert not dialogue.beside(now, asked, lambda: True)
    assert done == []


def test_a_key_pressed_while_it_is_worked_out_ends_it(dialogue: Dialogue) -> None:
    """In the middle of the steps played to the end; the step proposed stays the quick choice."""
    now = state(dialogue.book)
    asked = view(dialogue, now, "")
    dialogue.thinking.prepare([], lambda: False, dialogue.prompt)
    looks = iter(range(1000))
    assert not dialogue.refine(now, lambda: next(looks) > 3)
    assert view(dialogue, now, "") == asked
    assert next(looks) < 10


def test_beliefs_without_room_for_their_rows_know_what_they_were_asked(
    dialogue: Dialogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the latest holds its rows; whatever is asked anew of another is the same as before."""
    monkeypatch.setattr(thinking, "ROWS_KEPT", 1)
    now = state(dialogue.book)
    first = dialogue.believe(now)
    components, rows = first.components, first.rows
    later = dialogue.believe(dialogue.thinking.after(now, "motor-sound", "silent"))
    assert (first.held, later.held) == (0, len(later.rows))
    assert first.components == components
    assert (first.rows == rows).all()
