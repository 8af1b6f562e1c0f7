"""How a new entry is asked for: what Enter takes, going back, changing an answer, going on another day."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import Draft
from faulttree.workshop.authoring.questions import Question
from faulttree.workshop.authoring.session import Session
from tests.support.authored import CAUSE, CHECK, SYMPTOM, answered, folders, ground

NEW = "motor-plug.pins-corroded"


@pytest.mark.parametrize("answers", [CAUSE, CHECK, SYMPTOM])
def test_enter_takes_only_what_is_shown(tmp_path: Path, answers: Mapping[str, str]) -> None:
    """A question with no default refuses it; of one with a default the screen has the words. Each has its help."""
    session = Session(ground(folders(tmp_path), tmp_path / "shop"), {})
    while isinstance(question := session.now, Question):
        assert question.help, question.key
        if question.default is None:
            with pytest.raises(BadAnswer, match=r"."):
                session.answer("")
        else:
            assert question.default_words, question.key
        session.answer(answers[question.key])


def test_answers_are_gone_back_to_and_changed(tmp_path: Path) -> None:
    """What still fits stays; what no longer does is asked again."""
    session = Session(ground(folders(tmp_path), tmp_path / "shop"), {})
    answered(session, CAUSE)
    session.change("component", "rate")
    assert isinstance(session.now, Question)
    assert session.now.key == "component"
    session.answer("motor")
    assert isinstance(session.now, Question)
    assert session.now.key == "rate"
    session.answer("0.1")
    draft = session.now
    assert isinstance(draft, Draft)
    assert draft.about == "motor.pins-corroded"


def test_going_back_offers_the_old_answer(tmp_path: Path) -> None:
    """Enter takes it again; where the old one stood for something, none is typed for nothing."""
    session = Session(ground(folders(tmp_path), tmp_path / "shop"), {})
    draft = answered(session, CAUSE)
    session.change("promoted.1", "often", "rate")
    offered = {}
    while isinstance(session.now, Question):
        offered[session.now.key] = session.now.default_words
        session.answer("")
    assert session.now == draft
    assert offered == {
        "often": "by the flight hours, as parts fail, as you had it", "rate": "2 in 10000, as you had it",
        "promoted.1": "wet, as you had it",
    }  # fmt: skip
    session.change("promoted.1")
    session.answer("none")
    assert isinstance(session.now, Draft)
    assert "promoted_by" not in session.now.entries["faults"][NEW]


@pytest.mark.parametrize(("step", "told"), [("check", False), ("action", True)], ids=["secured", "as found"])
def test_a_step_that_sets_nothing_up_is_asked_about(tmp_path: Path, step: str, told: bool) -> None:
    """Whoever names no condition is told what may stand while hands are there."""
    session = Session(ground(folders(tmp_path), tmp_path / "shop"), {})
    while isinstance(session.now, Question) and session.now.key != f"{step}.caution.1":
        session.answer(CAUSE[session.now.key])
    assert isinstance(session.now, Question)
    assert any("Nothing is set up before it" in line for line in session.now.lines) == told


def test_answers_go_on_elsewhere(tmp_path: Path) -> None:
    """The answers alone bring a session back to the same question, and to the same draft."""
    on = ground(folders(tmp_path), tmp_path / "shop")
    whole = Session(on, {})
    draft = answered(whole, CAUSE)
    assert Session(on, {}, whole.answers).now == draft
    half = dict(list(whole.answers.items())[:9])
    again = Session(on, {}, half).now
    assert isinstance(again, Question)
    assert again.key == list(whole.answers)[9]
