"""The log of a case in words: what each kind of entry says to a reader."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from faulttree.book.model import Book, OpeningAnswer, OpeningQuestion
from faulttree.case import CaseEntry
from faulttree.case.course import course, history, said, shown_by
from tests.support.small_family import small_book

READING = {"check": "switch-continuity", "value": 0.25, "unit": "ohm", "limit": 2.0, "reference": "MM 32-60"}
PROFILE = {"aircraft": {"name": "QQ-ELM", "version": 3}}
CHANGED = {"version": "2", "digest": "e", "overlays": [], "unconfirmed": []}

WORDS: list[tuple[str, dict[str, Any], str]] = [
    ("opened", {"job": "QQ-ELM", "family": "made-up"}, "case opened for QQ-ELM, made-up gear"),
    ("opened", {"job": "", "family": "made-up"}, "case opened for an aircraft not named, made-up gear"),
    ("symptom", {"symptom": "stays-down", "present": True}, "reported: Gear stays down"),
    ("symptom", {"symptom": "stays-down", "present": False}, "denied: Gear stays down"),
    ("circumstance", {"circumstances": []}, "circumstances: none of those asked"),
    ("hours", {"hours": 12.5}, "12.5 flight hours since the gear was last known good"),
    (
        "hours", {"hours": 25.0, "assumed": True},
        "25 flight hours since the gear was last known good (assumed, nobody could say)",
    ),
    ("at-hand", {"people": 2}, "people at hand: 2"),
    ("at-hand", {"people": None}, "people at hand: as many as needed"),
    ("at-hand", {"lacking": []}, "not at hand: nothing"),
    ("cautions", {"step": "mend-lead", "cautions": []}, ""),
    ("cautions", {"step": "mend-lead", "cautions": ["a"]}, "1 caution read before: Mend the lead"),
    ("cautions", {"step": "cycle-test", "cautions": ["a", "b"]}, "2 cautions read before: Cycle on jacks"),
    ("cautions", {"step": "gone", "cautions": ["a"]}, "1 caution read before: gone"),
    ("answer", {"check": "motor-sound", "outcome": "silent"}, "Was the motor heard when up was selected? Silence"),
    (
        "answer", {"check": "switch-continuity", "outcome": "open", "sure": False},
        "Continuity of the guard switch: Open (not sure)",
    ),
    ("reading", READING, "Continuity of the guard switch: 0.25 ohm, limit 2 ohm from MM 32-60"),
    (
        "reading", {**READING, "instrument": "meter 7", "calibrated": "2026-12"},
        "Continuity of the guard switch: 0.25 ohm, limit 2 ohm from MM 32-60, with meter 7 (calibrated until 2026-12)",
    ),
    (
        "reading", {**READING, "instrument": "meter 7", "calibrated": ""},
        "Continuity of the guard switch: 0.25 ohm, limit 2 ohm from MM 32-60, with meter 7",
    ),
    ("skipped", {"check": "motor-sound", "reason": "not-done"}, "Motor heard: not done"),
    ("skipped", {"check": "motor-sound", "reason": "cannot-tell", "why": "radio on"},
     "Motor heard: could not be told, radio on"),
    ("found-standing", {"standing": []},
     "taken up again; the aircraft was found to stand otherwise: nothing stands"),
    ("instrument", {"name": "meter 7", "calibrated": ""}, "measured with: meter 7, calibration not stated"),
    ("instrument", {"name": "meter 7", "calibrated": "2026-12"}, "measured with: meter 7, calibrated until 2026-12"),
    ("knowledge", CHANGED, "gone on with changed knowledge, version 2"),
    (
        "knowledge", {**CHANGED, "unconfirmed": [4]},
        "gone on with changed knowledge, version 2; 1 answer to be confirmed",
    ),
    (
        "knowledge", {**CHANGED, "unconfirmed": [4, 6]},
        "gone on with changed knowledge, version 2; 2 answers to be confirmed",
    ),
    ("knowledge", {**CHANGED, "profile": PROFILE}, "the profile of QQ-ELM, version 3, was seen and not taken"),
    (
        "knowledge", {**CHANGED, "profile": {**PROFILE, "fitted": []}},
        "gone on by the profile of QQ-ELM, version 3, knowledge version 2",
    ),
    ("confirmed", {"entry": 4, "counts": True}, "entry 4 still holds under the changed knowledge"),
    ("confirmed", {"entry": 4, "counts": False}, "entry 4 left out under the changed knowledge"),
    ("archived", {"archived": True}, "put away"),
    ("archived", {"archived": False}, "taken out of the archive"),
    ("started", {"kind": "check", "id": "cycle-test"}, ""),
    ("of-a-later-version", {}, "entry of a kind that this version does not know"),
    ("found", {"fault": "motor.gone"}, "found, of something that this knowledge does not have"),
]  # fmt: skip


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


@pytest.mark.parametrize(("kind", "data", "words"), WORDS)
def test_an_entry_says_what_was_done(book: Book, kind: str, data: dict[str, Any], words: str) -> None:
    """In the words of the book; nothing where there is nothing for a reader."""
    assert said(book, CaseEntry(1, "", "m", kind, data)) == words


def test_a_reading_shows_the_outcome_that_it_weighs_most_for(book: Book) -> None:
    """What a reading amounts to is told by the label of its likeliest outcome."""
    assert shown_by(book, {"check": "switch-continuity", "weights": [0.1, 0.2, 0.7]}) == "Closed and steady"


@pytest.mark.parametrize(("condition", "told"), [(0.0, "needs no putting back: "), (5.0, "put back: ")])
def test_what_takes_no_minutes_to_put_back_says_so(book: Book, condition: float, told: str) -> None:
    """A condition that goes by itself is not told as work."""
    jacks = replace(book.conditions["on-jacks"], restore_minutes=condition, restore_name="")
    book = replace(book, conditions={**book.conditions, "on-jacks": jacks})
    assert said(book, CaseEntry(1, "", "m", "restored", {"condition": "on-jacks"})) == told + jacks.name


def test_an_opening_question_is_told_with_its_answer(book: Book) -> None:
    """Of several the one that was asked."""
    answers = (OpeningAnswer("no", "No"), OpeningAnswer("yes", "Yes"))
    asking = replace(book, opening=(OpeningQuestion("a", "Asked?", answers), OpeningQuestion("b", "Also?", answers)))
    assert said(asking, CaseEntry(1, "", "m", "opening", {"question": "b", "answer": "yes"})) == "Also? Yes"


def logged() -> list[CaseEntry]:
    """A note, a note taken back, an entry that says nothing, and the taking back itself."""
    told: list[tuple[str, dict[str, Any]]] = [
        ("note", {"text": "one"}), ("note", {"text": "two"}), ("symptoms-settled", {}), ("undone", {"entry": 2}),
    ]  # fmt: skip
    at, local = "2026-03-01T10:00:30+00:00", "2026-03-01T11:00:30+01:00"
    return [CaseEntry(i, at, "day", kind, data, local if i != 4 else "") for i, (kind, data) in enumerate(told, 1)]


def test_what_was_taken_back_is_marked_and_the_taking_back_is_not(book: Book) -> None:
    """Entries that say nothing have no line."""
    assert [(line["number"], line["undone"]) for line in course(book, logged())] == [(1, False), (2, True), (4, False)]


def test_a_line_has_number_moment_and_name(book: Book) -> None:
    """By the shop's clock, by UTC where that is not known; short without date and name."""
    assert history(book, logged()) == [
        '1. 2026-03-01 11:00 day: note: "one"',
        '2. 2026-03-01 11:00 day: note: "two" (undone later)',
        "4. 2026-03-01 10:00 day: entry 2 undone",
    ]
    assert history(book, logged(), short=True)[0] == '1. 11:00 note: "one"'


def test_what_an_opening_answer_asks_for_is_told_as_read(book: Book) -> None:
    """By its question, also where it has no caution."""
    question = book.opening[0]
    for cautions in ([], list(question.answers[0].cautions)):
        entry = CaseEntry(1, "", "mechanic", "cautions", {"step": question.id, "cautions": cautions})
        assert said(book, entry) == f"what comes before all else was read, by the answer to: {question.ask}"
