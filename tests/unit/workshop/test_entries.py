"""An entry with all that touches it, on a small family written in a folder."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from faulttree.book import read_book
from faulttree.workshop.entries import Entry, Shelf
from tests.support.small_family import FAMILY, SHARED

CASES = """
cases:
  silent-motor:
    description: The motor was not heard.
    origin: constructed
    symptoms: [stays-down]
    steps: [{answer: motor-sound=silent}]
    expect: {cause: guard-switch, within: 2}
"""

MORE = """
options:
  make-of-lamps: {name: Lamps, choices: {plain-lamps: plain lamps, smart-lamps: smart lamps}, default: plain-lamps}
components:
  wheel: {name: Wheel, ata: 32-40, legs: {left: 0.5, right: 0.5}, basis: estimate}
  led: {name: LED lamp, ata: 33-10, fitted: [smart-lamps]}
faults:
  wheel.jammed: {name: jammed, rate: 0.2, basis: estimate, corrected_by: [free-the-wheel]}
  led.dim: {name: dim, rate: 0.1, basis: estimate, corrected_by: [replace-led], fitted: [smart-lamps]}
symptoms:
  seems-dark:
    name: Light seems dark
    says: [light dark, dim light, no light seen, light hardly lit, light faint]
    when: {any_of: [led.dim, wheel.jammed]}
checks:
  wheel-by-hand:
    name: "{leg} wheel turned by hand"
    kind: look
    each_leg: true
    minutes: 2
    needs: [on-jacks]
    outcomes:
      held: {label: Does not turn, when: wheel.jammed}
      free: {label: Turns, otherwise: true}
    detects: 0.9
    false_alarm: 0.02
    basis: estimate
actions:
  free-the-wheel: {name: "Free the {leg} wheel", each_leg: true, minutes: 30, needs: [on-jacks], basis: estimate}
  replace-led: {name: Replace the LED, minutes: 10, needs: [secured], fitted: [smart-lamps], basis: estimate}
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("book")
    shutil.copytree(SHARED, root / "shared")
    (root / "made-up").mkdir()
    for name, text in (("all.yaml", FAMILY), ("more.yaml", MORE), ("all.cases.yaml", CASES)):
        (root / "made-up" / name).write_text(text, encoding="utf-8")
    return root


def shelf(folder: Path, *fitted: str) -> Shelf:
    reading = read_book([folder], "made-up", fitted)
    assert reading.book is not None, "\n".join(map(str, reading.problems))
    return Shelf(reading.book, [folder])


def shown(folder: Path, asked: str) -> tuple[Entry, dict[str, list[str]]]:
    """The one entry with this name, and by title the ids that touch it."""
    kept = shelf(folder)
    ((section, written),) = kept.find(asked)
    entry = kept.entry(section, written)
    return entry, {title: [one.id for one in touched] for title, touched in entry.touched}


def test_a_fault_is_shown_with_all_that_touches_it(folder: Path) -> None:
    """Component, symptom, checks, action, the conditions and cautions of these, the case that names it as a cause."""
    entry, touched = shown(folder, "guard-switch.stuck")
    assert (entry.kind, entry.name) == ("fault", "Guard switch: stuck open")
    assert touched["Component"] == ["guard-switch"]
    assert touched["Symptoms that it reaches"] == ["stays-down"]
    assert touched["Checks that show it"] == ["switch-continuity"]
    assert touched["Actions that correct it"] == ["replace-guard-switch"]
    assert {"on-jacks", "motor-breaker-pulled"} <= set(touched["Conditions that these need"])
    assert touched["Cautions shown with these"]


def test_a_check_is_shown_with_outcome_and_detects(folder: Path) -> None:
    """As the note beside it."""
    entry, _ = shown(folder, "guard-switch.stuck")
    (check,) = dict(entry.touched)["Checks that show it"]
    assert check.note == "open, 95 %"


def test_follow_ups_stand_beside_the_action(folder: Path) -> None:
    """As the note beside it."""
    entry, _ = shown(folder, "guard-switch.stuck")
    (action,) = dict(entry.touched)["Actions that correct it"]
    assert action.note == "then cycle-test"


def test_it_is_told_where_an_entry_is_written(folder: Path) -> None:
    """File, line and column of its id."""
    entry, _ = shown(folder, "motor")
    line = FAMILY.splitlines().index("  motor: {name: Motor, ata: 32-30}") + 1
    assert entry.written_at == f"{folder / 'made-up' / 'all.yaml'}:{line}:3"


def test_it_is_told_who_amended_an_entry_when_and_why(folder: Path, tmp_path: Path) -> None:
    """Overlay by overlay, with the fields that each names."""
    signed = "{amends: true, reason: newer lamps, by: shop lead, date: 2026-03-14, minutes: 12, parts: [LED]}"
    for shop, text in (("one", signed), ("two", "{amends: true, minutes: 14}")):
        (tmp_path / shop / "made-up").mkdir(parents=True)
        (tmp_path / shop / "made-up/ours.yaml").write_text(f"actions:\n  replace-brushes: {text}\n", encoding="utf-8")
    folders = [folder, tmp_path / "one", tmp_path / "two"]
    book = read_book(folders, "made-up").book
    assert book is not None
    assert Shelf(book, folders).entry("actions", "replace-brushes").amended == (
        f"{tmp_path}/one/made-up/ours.yaml:2:3: minutes, parts (newer lamps; shop lead, 2026-03-14)",
        f"{tmp_path}/two/made-up/ours.yaml:2:3: minutes (no reason said)",
    )


@pytest.mark.parametrize(
    ("asked", "kind"),
    [
        ("guard-switch", "component"), ("stays-down", "symptom"), ("Gear stays down", "symptom"),
        ("motor-sound", "check"), ("mend-lead", "action"), ("on-jacks", "condition"), ("wet", "circumstance"),
        ("multimeter", "piece of equipment"), ("smart-lamps", "option"), ("spring-energy", "caution"),
        ("stays-down/when", "event"),
    ],
)  # fmt: skip
def test_any_kind_of_entry_is_found_by_id_or_name(folder: Path, asked: str, kind: str) -> None:
    """And can be shown."""
    assert shown(folder, asked)[0].kind == kind


@pytest.mark.parametrize("asked", ["wheel.jammed", "wheel-left.jammed"])
def test_what_is_written_once_for_all_legs_is_one_entry(folder: Path, asked: str) -> None:
    """Whichever leg is named; its checks are those of all legs."""
    entry, touched = shown(folder, asked)
    assert (entry.id, entry.members) == ("wheel.jammed", ("wheel-left.jammed", "wheel-right.jammed"))
    assert touched["Checks that show it"] == ["wheel-by-hand-left", "wheel-by-hand-right"]


def test_cases_name_what_they_answer_and_expect(folder: Path) -> None:
    """A case is told of its symptom, its check and the component that it expects."""
    for asked in ("stays-down", "motor-sound", "guard-switch"):
        assert shown(folder, asked)[1]["Regression cases"] == ["silent-motor"]
    assert "Regression cases" not in shown(folder, "motor")[1]


def test_an_option_is_shown_with_what_is_for_it_alone(folder: Path) -> None:
    """Entries that name it under `fitted`."""
    assert shown(folder, "smart-lamps")[1]["Entries for aircraft with it"] == ["led", "led.dim", "replace-led"]


def test_what_is_not_fitted_tells_the_option_that_brings_it(folder: Path) -> None:
    """With these options it is not there; with that one it is."""
    kept = shelf(folder)
    assert (kept.find("led.dim"), kept.only_with("led.dim")) == ([], [("smart-lamps",)])
    assert shelf(folder, "smart-lamps").find("led.dim") == [("faults", "led.dim")]


def test_the_nearest_ids_are_offered(folder: Path) -> None:
    """For a slip of the pen, and for words of its name."""
    kept = shelf(folder)
    assert kept.near("gaurd-swich")[0] == "guard-switch"
    assert "switch-continuity" in kept.near("continuity of guard switch")


@pytest.mark.parametrize("asked", ["", "\x00", "x" * 10000, "wheel-nose.jammed"])
def test_what_is_not_there_is_not_found(folder: Path, asked: str) -> None:
    """Whatever is asked, nothing is no error."""
    kept = shelf(folder)
    assert (kept.find(asked), kept.only_with(asked)) == ([], [])
    assert len(kept.near(asked)) <= 5
