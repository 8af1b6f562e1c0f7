"""Lessons, fixed drills and what goes with them: read beside the book, and held against it."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.book.drillreader import read
from faulttree.book.drills import PracticeReading
from faulttree.book.files import from_texts
from faulttree.book.reader import load
from tests.support.small_family import FAMILY, shared_texts

SOUND = """
scenarios:
  quiet:
    name: Quiet
    note: The switch.
    symptoms: [stays-down]
    words: stays down
    hard: [guard-switch.stuck]
    answers: {motor-sound: silent}
"""


def reading(text: str, home: str = "made-up") -> PracticeReading:
    """What is read of a practice file beside the made-up family."""
    texts = {**shared_texts(), "made-up/all.yaml": FAMILY, f"{home}/more.drills.yaml": text}
    return read(from_texts(texts, "made-up")[0], "made-up")


def test_a_sound_scenario_is_read() -> None:
    """With its place."""
    found = reading(SOUND)
    assert (found.problems, str(found.practice.scenarios["quiet"].position)) == ((), "made-up/more.drills.yaml:3:3")


def test_a_retired_question_that_words_answer_is_told_as_that_with_the_way_on() -> None:
    """Not as one that is unknown: whoever retired it looks for no spelling, but for what else has to go."""
    heard = "heard:\n  hummed: {words: [it hummed], answers: {motor-sound: [hummed]}}\n"
    gone = "checks:\n  motor-sound: {retires: true, reason: nobody hears it here}\n"
    texts = {**shared_texts(), "made-up/all.yaml": FAMILY, "made-up/a.drills.yaml": heard, "shop/made-up/b.yaml": gone}
    (told,) = read(from_texts(texts, "made-up")[0], "made-up").problems
    assert "motor-sound` was retired" in told.what
    assert "`hummed: {retires: true" in told.right


def test_the_book_is_the_same_with_and_without_practice() -> None:
    """Its digest rests on knowledge alone."""
    texts = {**shared_texts(), "made-up/all.yaml": FAMILY}
    alone = load(from_texts(texts, "made-up")[0], "made-up").digest
    assert load(from_texts({**texts, "made-up/x.drills.yaml": SOUND}, "made-up")[0], "made-up").digest == alone


BROKEN = {
    "a fault that there is not": (SOUND.replace("guard-switch.stuck", "guard-switch.stuk"), "8:12", "unknown-id"),
    "an outcome that there is not": (SOUND.replace("silent", "silence"), "9:28", "unknown-id"),
    "nothing hidden": (SOUND.replace("    hard: [guard-switch.stuck]\n", ""), "3:3", "value"),
    "no words": (SOUND.replace("    words: stays down\n", ""), "3:3", "missing-field"),
    "a field that there is not": (SOUND.replace("note:", "notes:"), "5:5", "unknown-field"),
    "a level that there is not": (SOUND + "    level: 7\n", "10:12", "range"),
    "a caution that there is not": (
        "temptations:\n  x: {name: X, kind: check, could: Y, cautions: [hands-clear]}\n", "2:50", "unknown-id",
    ),
    "a squawk that there is not": (
        "pilots:\n  stays-up: {opening: {legs-known-locked: \"yes\"}}\n", "2:3", "unknown-id",
    ),
    "an answer that there is not": (
        "pilots:\n  stays-down: {opening: {legs-known-locked: maybe}}\n", "2:45", "unknown-id",
    ),
    "a question that there is not": (
        "heard:\n  x: {words: [no], answers: {motor-sond: [silent]}}\n", "2:42", "unknown-id",
    ),
    "a test for a question": (
        "heard:\n  x: {words: [no], answers: {switch-continuity: [open]}}\n", "2:49", "unknown-id",
    ),
    "no such answer of the pilot": (
        "heard:\n  x: {words: [no], answers: {motor-sound: [silence]}}\n", "2:44", "unknown-id",
    ),
    "words that assert nothing": ("heard:\n  x: {words: [no]}\n", "2:3", "value"),
    "a caution to be named that there is not": (
        "quizzed:\n  hands-clear: {never: true, why: Y}\n", "2:3", "unknown-id",
    ),
    "a caution of which it is not said when": ("quizzed:\n  hands-clear: {why: Y}\n", "2:3", "value"),
    "a section that there is not": ("drills:\n  x: {}\n", "1:1", "unknown-section"),
}  # fmt: skip


@pytest.mark.parametrize("broken", BROKEN)
def test_what_is_wrong_is_told_at_its_place(broken: str) -> None:
    """One problem, with file, line and column, and the rule."""
    text, place, rule = BROKEN[broken]
    found = [(str(p.position).removeprefix("made-up/more.drills.yaml:"), p.rule) for p in reading(text).problems]
    assert (place, rule) in found


def test_all_mistakes_of_an_entry_are_told_at_once() -> None:
    """A level that is no number hides neither the fault nor the answer that there is not, nor the id in capitals."""
    text = SOUND.replace("guard-switch.stuck", "guard-switch.stuk").replace("silent", "silence")
    found = reading(text.replace("  quiet:", "  Quiet:") + "    level: one\n")
    assert sorted((p.position.line, p.rule) for p in found.problems) == [
        (3, "ids-kebab-case"), (8, "unknown-id"), (9, "unknown-id"), (10, "value"),
    ]  # fmt: skip
    assert found.practice.scenarios == {}


@pytest.mark.parametrize("section", ["lessons", "temptations", "heard"])
def test_an_id_in_capitals_is_refused_in_every_section(section: str) -> None:
    """As in the book itself, whatever else is wrong with the entry."""
    assert "ids-kebab-case" in [p.rule for p in reading(f"{section}:\n  Loud: {{name: Loud}}\n").problems]


def test_a_scenario_belongs_to_one_family() -> None:
    """In the shared folder it would belong to none."""
    assert [p.rule for p in reading(SOUND, "shared").problems] == ["family"]


def test_practice_among_the_knowledge_is_told_where_it_belongs() -> None:
    """A section of practice in a file of the book."""
    texts = {**shared_texts(), "made-up/all.yaml": FAMILY, "made-up/more.yaml": "lessons:\n  x: {name: X}\n"}
    (found,) = load(from_texts(texts, "made-up")[0], "made-up").problems
    assert ".drills.yaml" in found.right


def test_shipped_files_of_practice_hold_nothing_else() -> None:
    """Each begins with one of its sections."""
    root = Path(__file__).resolve().parents[3] / "knowledge"
    assert len(list(root.glob("*/*.drills.yaml"))) >= 4
