"""Fixed drills whose faults would not give their squawk are found by `knowledge check`."""

from __future__ import annotations

from pathlib import Path

from faulttree.book.drills import Heard, Practice, Scenario
from faulttree.book.positions import Position
from faulttree.workshop.checking import read
from faulttree.workshop.rules.scenario_holds import ID, holding
from tests.support.small_family import FAMILY, shared_texts, small_book


def told(heard: Heard | None = None, **more: object) -> list[str]:
    """What is wrong with a scenario on the made-up family; ``heard`` is what words assert."""
    fields = {
        "id": "x", "name": "X", "position": Position("x.drills.yaml", 1, 1), "family": "made-up",
        "symptoms": ("stays-down",), "words": "stays down", "hard": ("guard-switch.stuck",), **more,
    }  # fmt: skip
    scenario = Scenario(**fields)  # type: ignore[arg-type]
    practice = Practice(scenarios={"x": scenario}, heard={} if heard is None else {heard.id: heard})
    return [p.what for p in holding(practice, lambda fitted: small_book())]


def test_a_sound_scenario_has_nothing_against_it() -> None:
    """The switch alone gives the squawk, and can be replaced."""
    assert told() == []


def test_faults_that_do_not_give_the_squawk_are_told() -> None:
    """Nothing hidden that is always there: an empty set brings nothing about."""
    assert told(hard=()) == ["scenario x: its faults do not bring about `stays-down`"]


def test_an_earlier_repair_that_would_have_mended_it_is_told() -> None:
    """It was said to have been for nothing."""
    (found,) = told(earlier="replace-guard-switch")
    assert "would have mended it" in found


def test_an_answer_that_the_hidden_fault_does_not_give_is_told() -> None:
    """Worn brushes hum; only an error could show anything else, and in a fixed drill nobody errs."""
    (found,) = told(hard=("motor.brushes-worn",), answers={"motor-sound": "silent"})
    assert found == "scenario x: `motor-sound` shows `hummed` with these faults, not `silent`"
    assert told(hard=("motor.brushes-worn",), answers={"motor-sound": "hummed"}) == []


def test_what_sleeps_may_be_seen_awake_or_asleep() -> None:
    """A chafed lead jumps or reads steady, and is never seen open."""
    for shown, wrong in (("jumps", 0), ("steady", 0), ("open", 1)):
        given = {"switch-continuity": shown}
        assert len(told(hard=(), sleeping=("guard-switch.lead-chafed",), answers=given)) == wrong


def test_words_that_the_pilot_would_deny_are_told() -> None:
    """No motor heard, with worn brushes: asked, the pilot says that it hummed."""
    heard = Heard("silence", Position("x.drills.yaml", 1, 1), ("no motor",), {"motor-sound": ("silent",)})
    assert told(words="no motor", hard=("motor.brushes-worn",), heard=heard) == [
        "scenario x: its words assert `silence`, and `motor-sound` is answered `hummed`"
    ]
    assert told(words="no motor", heard=heard) == []


def test_it_is_part_of_the_check(tmp_path: Path) -> None:
    """As an error, at its place, with the rule that can be looked up."""
    for name, text in {**shared_texts(), "made-up/all.yaml": FAMILY, "made-up/x.drills.yaml": BAD}.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    found = [problem for problem in read([tmp_path], "made-up")[0] if problem.rule == ID]
    assert [(p.severity, p.position.line) for p in found] == [("error", 3)]


BAD = """
scenarios:
  quiet: {name: Q, note: N, symptoms: [stays-down], words: w, hard: [motor.brushes-worn], earlier: replace-brushes}
"""
