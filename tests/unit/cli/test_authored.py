"""Screens of a new entry: each question fits a small window, with as many entries offered as there can be."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from faulttree.workshop.authoring.ground import ANSWERS, OUTCOMES, TAPS, Ground, Named
from faulttree.workshop.authoring.questions import OFFERED, Question
from faulttree.workshop.authoring.session import Session
from faulttree.workshop.authoring.trial import Apart, Off, Touched, Trial
from faulttree_cli.screens import authored
from tests.support.authored import CAUSE, CHECK, SYMPTOM, folders, ground

KNOWLEDGE = Path(__file__).resolve().parents[3] / "knowledge"

HEAD, SAID = f"A new entry for electromechanical, into {'x' * 30}, question 47", "Nothing was taken. " * 7


def lines(question: Question, offered: Sequence[Named] = (), said: str = "") -> list[str]:
    """The screen at eighty columns, as it is printed."""
    console = Console(file=io.StringIO(), width=80, highlight=False, markup=False)
    with console.capture() as drawn:
        console.print(*authored.question_screen(HEAD, question, offered, said), sep="\n")
    return drawn.get().rstrip("\n").splitlines()


@pytest.mark.parametrize("answers", [CAUSE, CHECK, SYMPTOM])
def test_every_question_fits_with_its_help(tmp_path: Path, answers: Mapping[str, str]) -> None:
    """Twenty-four lines with the one to answer on, also with its help and with a long complaint above it."""
    session = Session(ground(folders(tmp_path), tmp_path / "shop"), {})
    while isinstance(question := session.now, Question):
        for said in (question.help, SAID):
            shown = lines(question, (), said)
            assert len(shown) < 24, question.key
            assert max(map(len, shown)) <= 80
        session.answer(answers[question.key])


@pytest.mark.parametrize(
    "section", ["symptoms", "components", "faults", "cautions", "actions", OUTCOMES, TAPS, ANSWERS]
)
def test_a_full_list_of_entries_fits(section: str) -> None:
    """Of the longest names of the shipped book, below a question of three lines; every id is there whole."""
    on = Ground([KNOWLEDGE], "electromechanical", KNOWLEDGE / "ours")
    longest = sorted(on.named(section), key=lambda one: -len(one.id) - len(one.name))[:OFFERED]
    question = Question("x", "What was answered or found, in order?", ("a " * 50, "b " * 50), default="")
    shown = lines(question, longest, "The likest first.")
    assert len(shown) < 24
    assert max(map(len, shown)) <= 80
    assert [one.id for one in longest if f"({one.id})" not in "\n".join(shown)] == []


def test_the_effect_is_told_in_words() -> None:
    """Before and after, the place of the new part where it is not among the first, what tells it apart, what reads."""
    before = (("Motor", 0.52), ("Switch", 0.31))
    apart = Apart("Look at the plug", "Green", 3, 4, ("Lead: chafed",))
    one = Touched("stays-down", "Gear stays down", before, before, "Plug", 5, 0.01, (), apart, (("Motor heard", "No"),))
    told = authored.effect(Trial((), (), 0, (one,), "ours"))
    assert "  before  Motor about 5 in 10, Switch about 3 in 10" in told
    assert "  after   the same" in told
    assert "          Plug comes in place 5, about 1 in 100" in told
    assert "  apart   by Look at the plug: Green. That rules out 3 of the 4 other causes" in told
    assert "          no check tells it from Lead: chafed" in told
    assert "  asked   Motor heard: No" in told
    none = authored.effect(Trial((), (), 0, (replace(one, apart=None),), "ours"))
    assert "  apart   no check shows the new cause by a result of its own" in none


def test_an_answer_that_takes_the_new_cause_off_the_list_is_told_as_such() -> None:
    """With the answer, the question, and how likely the cause is before and after."""
    off = Off("Motor heard", "It hummed", 0.38, 0.01)
    told = authored.effect(Trial((), (), 0, (Touched("x", "X", (), (), "Plug", off=(off,)),), "ours"))
    assert "As it stands the answer “It hummed” to “Motor heard” takes it off the list: about 1 in 100" in " ".join(
        " ".join(told).split()
    )
