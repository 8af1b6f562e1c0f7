"""The made-up family in folders, an overlay to write into, and answers to an interview, by the key of a question."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from faulttree.workshop.authoring.draft import Draft
from faulttree.workshop.authoring.ground import Ground
from faulttree.workshop.authoring.session import Session
from tests.support.small_family import FAMILY, SHARED

MADE_UP = "made-up"

MORE = """
events:
  no-feed: {name: No feed, any_of: [guard-switch.stuck, guard-switch.lead-chafed]}
  both: {name: Both at once, all_of: [guard-switch.stuck, motor.brushes-worn]}
chains:
  feed:
    name: Feed of the motor
    elements:
      - {faults: [guard-switch.stuck], tap: switch, name: the guard switch}
      - {faults: [motor.brushes-worn], tap: motor}
"""

CAUSE = {
    "kind": "1", "component": "new", "component.name": "Motor plug", "component.id": "", "component.ata": "32-60",
    "component.caution.1": "", "mode": "pins corroded", "mode.id": "", "often": "", "rate": "2 in 10000",
    "fault.basis": "shop-history", "fault.basis.note": "2 in 10000 hours since 2029", "sleeps": "y",
    "sleeps.share": "30 %", "sleeps.shows": "0.4", "promoted.1": "wet", "promoted.2": "", "brings.1": "stays-down",
    "brings.2": "", "place.1": "", "seen.1": "", "check": "Look into the motor plug", "check.id": "",
    "check.kind": "look", "check.how": "", "check.needs.1": "secured", "check.needs.2": "", "check.minutes": "10",
    "check.equipment.1": "multimeter", "check.equipment.2": "", "check.caution.1": "", "outcome.1": "Pins green",
    "outcome.1.id": "", "otherwise": "Pins bright", "otherwise.id": "", "detects": "95 %", "false-alarm": "0.02",
    "check.basis": "", "mended": "new", "action": "Clean the motor plug", "action.id": "", "action.needs.1": "",
    "action.minutes": "1 h 20",
    "action.equipment.1": "", "action.caution.1": "", "action.parts": "", "action.follow-up.1": "",
    "action.basis": "common-practice",
    "reads.switch-continuity": "",
    "case.id": "", "case.description": "", "case.step.1": "", "case.step.2": "", "case.within": "1",
}  # fmt: skip
"""A new part with a new way of failing, a new check and a new repair; "" is Enter."""

CHECK = {
    "kind": "check", "check": "Ammeter on selecting up", "check.id": "", "check.kind": "ask",
    "check.ask": "Did the ammeter move?", "outcome.1": "It moved", "outcome.1.id": "",
    "outcome.1.when.1": "motor.brushes-worn", "outcome.1.when.2": "", "outcome.2": "", "otherwise": "It did not",
    "otherwise.id": "", "detects": "0.7", "false-alarm": "10 %", "check.basis": "", "brings.1": "stays-down",
    "brings.2": "", "case.id": "", "case.description": "", "case.step.1": "", "case.step.2": "", "case.cause": "motor",
    "case.within": "1",
}  # fmt: skip

SYMPTOM = {
    "kind": "3", "name": "Motor clicks and does not run", "name.id": "motor-clicks", "says.1": "motor clicks",
    "says.2": "click click nothing", "says.3": "only a click", "says.4": "clicking, no gear", "says.5": "relay clicks",
    "says.6": "", "when.1": "motor.brushes-worn", "when.2": "", "unlisted": "", "advice": "", "case.id": "",
    "case.description": "", "case.step.1": "", "case.cause": "motor", "case.within": "",
}  # fmt: skip


def folders(at: Path, more: str = "") -> list[Path]:
    """The made-up book with ``more`` beside it, on the shipped shared knowledge, and an overlay that is not there."""
    for folder in ("book/made-up", "book/shared"):
        (at / folder).mkdir(parents=True)
    (at / "book/made-up/all.yaml").write_text(FAMILY, encoding="utf-8")
    if more:
        (at / "book/made-up/more.yaml").write_text(more, encoding="utf-8")
    for path in SHARED.glob("*.yaml"):
        (at / "book/shared" / path.name).write_bytes(path.read_bytes())
    return [at / "book"]


def ground(found: list[Path], target: Path) -> Ground:
    """What an entry for ``target`` stands on."""
    there = [target] if target.is_dir() and target not in found else []
    return Ground([*found, *there], MADE_UP, target)


def answered(session: Session, answers: Mapping[str, str]) -> Draft:
    """The draft at the end of the interview, each question answered by its key; what no answer is there for reads as in
    a sound gear. Raises KeyError, BadAnswer."""
    while not isinstance(session.now, Draft):
        key = session.now.key
        session.answer("" if key.startswith("reads.") and key not in answers else answers[key])
    return session.now


def put(target: Path, texts: Mapping[str, str]) -> None:
    """Files below a folder, by their paths in it."""
    for name, text in texts.items():
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        (target / name).write_text(text, encoding="utf-8")
