"""The repair of a new cause: one of the book, which may wait for other checks, or a new one with what follows it."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.book import read_book
from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import files_of
from faulttree.workshop.authoring.questions import Question
from faulttree.workshop.authoring.session import Session
from tests.support.authored import CAUSE, MADE_UP, answered, folders, ground, put

NEW = "motor-plug.pins-corroded"

WAITS = """actions:
  swap-plug: {name: Swap the plug, minutes: 9, after_any: [switch-continuity], basis: estimate}
faults:
  motor.plug-bad: {name: plug bad, rate: 0.1, basis: estimate, corrected_by: [swap-plug]}
events:
  plug-bad: {name: Plug bad, any_of: [motor.plug-bad]}
checks:
  see-plug:
    name: Plug looked at
    kind: look
    minutes: 1
    outcomes: {bad: {label: Bad, when: plug-bad}, fine: {label: Fine, otherwise: true}}
    detects: 0.9
    false_alarm: 0.1
    basis: estimate
"""


def test_a_repair_that_waits_for_checks_is_taken_once_one_of_them_looks(tmp_path: Path) -> None:
    """Else the cause could be found and never repaired, which the checker would refuse at the end."""
    on = ground(folders(tmp_path, WAITS), tmp_path / "shop")
    session = Session(on, {})
    asks = {"new-check": "y", "check.kind": "ask", "check.ask": "Did it crackle?"}
    with pytest.raises(BadAnswer, match="only after switch-continuity, and none of these looks"):
        answered(session, {**CAUSE, **asks, "mended": "swap-plug"})
    tied = {**CAUSE, "seen.1": "switch-continuity=open", "seen.2": "", "new-check": "y", "mended": "swap-plug"}
    assert answered(Session(on, {}), tied).entries["faults"][NEW]["corrected_by"] == ["swap-plug"]


def test_a_repair_that_waits_for_checks_comes_after_the_new_one_too(tmp_path: Path) -> None:
    """A look or test of the new cause is as good as those of the book."""
    on = ground(folders(tmp_path, WAITS), tmp_path / "shop")
    draft = answered(Session(on, {}), {**CAUSE, "mended": "swap-plug"})
    put(tmp_path / "shop", files_of(draft, on))
    reading = read_book([*on.folders, tmp_path / "shop"], MADE_UP)
    assert [str(problem) for problem in reading.problems] == []
    assert reading.book is not None
    assert reading.book.actions["swap-plug"].after_any == ("switch-continuity", *draft.entries["checks"])


def test_a_new_check_can_be_due_after_the_new_repair(tmp_path: Path) -> None:
    """It is found among those of the book, by its words."""
    answers = {**CAUSE, "action.follow-up.1": "look-into-motor-plug", "action.follow-up.2": ""}
    session = Session(ground(folders(tmp_path), tmp_path / "shop"), {})
    while isinstance(session.now, Question) and session.now.key != "action.follow-up.1":
        session.answer(answers[session.now.key])
    assert isinstance(session.now, Question)
    assert session.now.find is not None
    assert "look-into-motor-plug" in [one.id for one in session.now.find("motor plug")]
    assert answered(session, answers).entries["actions"]["clean-motor-plug"]["follow_up"] == ["look-into-motor-plug"]
