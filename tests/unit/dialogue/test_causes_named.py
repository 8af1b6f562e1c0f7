"""Naming what was behind the squawk: one cause, or several."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.book.model import Book
from faulttree.case import keeps_open
from faulttree.dialogue import Dialogue, NewEntry
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view

PASSED = NewEntry("answer", {"check": "cycle-test", "outcome": "gone", "sure": True})
LEAD = (NewEntry("did", {"action": "mend-lead"}), PASSED, NewEntry("cause", {"fault": "guard-switch.lead-chafed"}))
BOTH = (NewEntry("did", {"action": "replace-brushes"}), *LEAD)


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def test_one_repair_has_one_cause(book: Book) -> None:
    """Nobody is asked for another where nothing else was seen or repaired."""
    assert view(Dialogue(book), state(book, *LEAD), "").topic != "other-cause"


def test_with_two_repairs_another_cause_is_asked_for(book: Book) -> None:
    """What the other repair corrects is offered, and no."""
    asked = view(Dialogue(book), state(book, *BOTH), "")
    assert (asked.topic, asked.choices[-1].key) == ("other-cause", "n")
    assert "motor.brushes-worn" in [choice.value for choice in asked.choices]


def test_what_was_hardly_behind_the_squawk_is_not_asked_for(book: Book) -> None:
    """A repair that corrects much else asks for none of it; what was seen is asked for, however unlikely it was."""
    rare = replace(book.faults["motor.brushes-worn"], rate=1e-6)
    unlikely = replace(book, faults={**book.faults, rare.id: rare})
    assert view(Dialogue(unlikely), state(unlikely, *BOTH), "").topic != "other-cause"
    seen = (NewEntry("found", {"fault": rare.id}), *BOTH)
    assert rare.id in [choice.value for choice in view(Dialogue(unlikely), state(unlikely, *seen), "").choices]


def test_what_was_seen_comes_first_in_own_words_too(book: Book) -> None:
    """Whoever found what the book does not know need not look for it below what the book holds likely."""
    told = (NewEntry("found-other", {"text": "clip on the terminal"}), NewEntry("did-other", {"text": "taken off"}))
    asked = view(Dialogue(book), state(book, *told, PASSED), "")
    assert (asked.topic, asked.choices[0].key, asked.choices[0].value) == ("cause", "k", "words clip on the terminal")
    seen = NewEntry("found", {"fault": "guard-switch.lead-chafed"})
    both = view(Dialogue(book), state(book, seen, *told, LEAD[0], PASSED), "")
    assert [choice.value for choice in both.choices[:2]] == ["guard-switch.lead-chafed", "words clip on the terminal"]


def test_both_are_named(book: Book) -> None:
    """The second stands beside the first."""
    dialogue, now = Dialogue(book), state(book, *BOTH)
    reply = dialogue.accept(now, view(dialogue, now, ""), "motor.brushes-worn")
    assert state(book, *BOTH, *reply.entries).causes == ["guard-switch.lead-chafed", "motor.brushes-worn"]


def test_no_ends_the_question(book: Book) -> None:
    """The case then goes on to its end."""
    dialogue, now = Dialogue(book), state(book, *BOTH)
    reply = dialogue.accept(now, view(dialogue, now, ""), "no-other")
    assert view(dialogue, state(book, *BOTH, *reply.entries), "").topic == "close"


def test_every_cause_named_wants_its_repair(book: Book) -> None:
    """A second cause that nobody repaired keeps the case open, by its name."""
    now = state(book, *LEAD, NewEntry("cause", {"fault": "motor.brushes-worn"}))
    assert any(book.faults["motor.brushes-worn"].name in reason for reason in keeps_open(book, now))


def test_closing_tells_what_the_book_still_takes_to_be_there(book: Book) -> None:
    """A fault that was seen and repaired in the mechanic's own words is there for the book, whatever the proof says."""
    seen, own = NewEntry("found", {"fault": "motor.brushes-worn"}), NewEntry("did-other", {"text": "new brushes"})
    named = NewEntry("cause", {"fault": "motor.brushes-worn"})
    asked = view(Dialogue(book), state(book, seen, own, PASSED, named), "")
    assert asked.topic == "close"
    assert "the book still takes this to be there: Motor: brushes worn (" in asked.lines[0]
    assert "what the repair in your words removed" in asked.lines[0]


def test_closing_tells_of_nothing_where_the_repair_did_its_work(book: Book) -> None:
    """No line where the proof agrees with the book."""
    assert view(Dialogue(book), state(book, *LEAD), "").lines == ()


def test_closing_tells_what_was_not_well_after_the_repair(book: Book) -> None:
    """The proof passed, and a check that was due before it showed something bad."""
    lead = replace(book.actions["mend-lead"], follow_up=("switch-continuity", "cycle-test"))
    wary = replace(book, actions={**book.actions, "mend-lead": lead})
    for outcome, told in (("open", True), ("steady", False)):
        looked = NewEntry("answer", {"check": "switch-continuity", "outcome": outcome, "sure": True})
        now = state(wary, LEAD[0], looked, *LEAD[1:])
        asked = view(Dialogue(wary), now, "")
        assert asked.topic == "close"
        assert any("Not well after the repair" in line for line in asked.lines) is told
