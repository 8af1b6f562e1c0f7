"""Fixed drills whose faults would not give their squawk are found by `knowledge check`."""

from __future__ import annotations

from pathlib import Path

from faulttree.book.drills import Practice, Scenario
from faulttree.book.positions import Position
from faulttree.workshop.checking import read
from faulttree.workshop.rules.scenario_holds import ID, holding
from tests.support.small_family import FAMILY, shared_texts, small_book


def told(**more: object) -> list[str]:
    """What is wrong with a scenario on the made-up family."""
    fields = {
        "id": "x", "name": "X", "position": Position("x.drills.yaml", 1, 1), "family": "made-up",
        "symptoms": ("stays-down",), "words": "stays down", "hard": ("guard-switch.stuck",), **more,
    }  # fmt: skip
    scenario = Scenario(**fields)  # type: ignore[arg-type]
    return [p.what for p in holding(Practice(scenarios={"x": scenario}), lambda fitted: small_book())]


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
