"""A case closes only when every rule is kept, one by one."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree.book.model import Book
from faulttree.case import CaseEntry, add_up, keeps_open
from faulttree.dialogue import Dialogue, Prompt
from tests.support.small_family import small_book

New = tuple[str, dict[str, Any]]

OPENED: New = ("opened", {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "d"})
SYMPTOM: New = ("symptom", {"symptom": "stays-down", "present": True})
REPAIR: New = ("did", {"action": "mend-lead"})
PROOF: New = ("answer", {"check": "cycle-test", "outcome": "gone", "sure": True})
FAILED: New = ("answer", {"check": "cycle-test", "outcome": "remains", "sure": True})
CAUSE: New = ("cause", {"fault": "guard-switch.lead-chafed"})
DONE = [OPENED, SYMPTOM, REPAIR, PROOF, CAUSE]


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def reasons(book: Book, *new: New) -> list[str]:
    entries = [CaseEntry(i, "", "mechanic", kind, data) for i, (kind, data) in enumerate(new, 1)]
    return keeps_open(book, add_up(book, entries))


def test_cause_named_repair_proved_and_all_put_back_closes(book: Book) -> None:
    """Nothing keeps such a case open."""
    assert reasons(book, *DONE) == []


@pytest.mark.parametrize("condition", ["on-jacks", "floor-panel-out", "motor-breaker-pulled", "crank-engaged"])
def test_what_stands_keeps_it_open(book: Book, condition: str) -> None:
    """On jacks, panel out, breaker pulled, crank engaged: each is named."""
    found = reasons(book, *DONE, ("set-up", {"condition": condition}))
    assert f"{book.conditions[condition].name} still stands" in found


def test_what_was_put_back_does_not(book: Book) -> None:
    """Set up and restored again."""
    moved = [("set-up", {"condition": "secured"}), ("restored", {"condition": "secured"})]
    assert reasons(book, *DONE, *moved) == []


def test_a_cause_in_words_is_a_cause(book: Book) -> None:
    """What the book does not know is named as it was found; it is kept word for word."""
    named = ("cause-in-words", {"text": "a wasps' nest in the pitot line"})
    entries = [OPENED, SYMPTOM, REPAIR, PROOF, named]
    state = add_up(book, [CaseEntry(i, "", "mechanic", kind, data) for i, (kind, data) in enumerate(entries, 1)])
    assert state.cause_in_words == "a wasps' nest in the pitot line"
    assert "no cause is named" not in reasons(book, *entries)


def test_an_undone_follow_up_keeps_it_open(book: Book) -> None:
    """The check that an action asks for was not done after it."""
    assert "follow-up check not done: Cycle on jacks" in reasons(book, OPENED, SYMPTOM, REPAIR, CAUSE)


def test_a_proof_before_the_last_repair_counts_for_nothing(book: Book) -> None:
    """What was proved was another aircraft, so to say."""
    assert reasons(book, OPENED, SYMPTOM, REPAIR, PROOF, CAUSE, ("did", {"action": "replace-brushes"}))


def test_a_failed_proof_keeps_it_open(book: Book) -> None:
    """The squawk was seen again."""
    found = reasons(book, OPENED, SYMPTOM, REPAIR, FAILED, CAUSE)
    assert any("not proved gone" in reason for reason in found)


def test_a_proof_in_doubt_keeps_it_open_and_is_due_again(book: Book) -> None:
    """Passed, but nobody was sure; done again and sure it closes."""
    doubtful = ("answer", {"check": "cycle-test", "outcome": "gone", "sure": False})
    found = reasons(book, OPENED, SYMPTOM, REPAIR, doubtful, CAUSE)
    assert "follow-up check answered as not sure: Cycle on jacks" in found
    assert any("not proved gone" in reason for reason in found)
    assert reasons(book, OPENED, SYMPTOM, REPAIR, doubtful, PROOF, CAUSE) == []


def test_a_proof_without_a_repair_keeps_it_open(book: Book) -> None:
    """A squawk that could not be found again is not explained by that."""
    assert any("no repair" in reason for reason in reasons(book, OPENED, SYMPTOM, PROOF, CAUSE))


def test_no_cause_keeps_it_open(book: Book) -> None:
    """A repaired and proved squawk whose cause nobody names stays unexplained."""
    assert reasons(book, OPENED, SYMPTOM, REPAIR, PROOF) == ["no cause is named"]


def test_a_cause_that_no_repair_corrects_keeps_it_open(book: Book) -> None:
    """Brushes named, a lead mended."""
    other = ("cause", {"fault": "motor.brushes-worn"})
    found = reasons(book, OPENED, SYMPTOM, REPAIR, PROOF, other)
    name = book.faults["motor.brushes-worn"].name
    assert found == [f"no repair that was done corrects the cause named: {name}"]


def test_an_undone_cause_is_no_cause(book: Book) -> None:
    """Taken back, it counts no more."""
    assert reasons(book, *DONE, ("undone", {"entry": 5})) == ["no cause is named"]


def test_a_cause_and_a_repair_in_words_close_once_proved(book: Book) -> None:
    """The book need not know the cause; the proof is wanted all the same."""
    words = [("found-other", {"text": "a rag in the well"}), ("did-other", {"text": "rag taken out"})]
    assert any("not proved" in reason for reason in reasons(book, OPENED, SYMPTOM, *words))
    assert reasons(book, OPENED, SYMPTOM, *words, PROOF) == []


def test_answers_that_wait_to_be_confirmed_keep_it_open(book: Book) -> None:
    """The knowledge changed, and nobody has looked at the answers yet."""
    changed = ("knowledge", {"version": "2", "digest": "e", "overlays": [], "unconfirmed": [4]})
    assert any("confirmed" in reason for reason in reasons(book, *DONE, changed))


def test_the_dialogue_does_not_close_what_must_stay_open(book: Book) -> None:
    """Whatever was pressed: the reply is the reasons, and no entry."""
    entries = [CaseEntry(i, "", "m", kind, data) for i, (kind, data) in enumerate([OPENED, SYMPTOM, REPAIR], 1)]
    reply = Dialogue(book).accept(add_up(book, entries), Prompt("close", "Close?"), "close")
    assert reply.entries == ()
    assert reply.say.startswith("Not closed: ")
