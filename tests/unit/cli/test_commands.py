"""The commands as other programs use them: one JSON document on stdout, status 0, 1 or 2, no traceback ever."""

from __future__ import annotations

import gc
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from faulttree_cli import main as command
from faulttree_cli.main import main
from tests.support.share import share
from tests.support.small_family import FAMILY

Run = Callable[..., tuple[int, str, str]]

SQUAWK = "wouldnt come up after takeoff, motor dead, three greens stayed on"
RANK = ("rank", "--family", "electromechanical")


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path / "cases"))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: str) -> tuple[int, str, str]:
        try:
            status = main(words)
        except SystemExit as end:
            status = int(end.code or 0)
        out, err = capsys.readouterr()
        return status, out, err

    return call


@pytest.mark.parametrize(("name", "seldom"), [("rank", True), ("squawk", True), ("work", False)])
def test_garbage_is_seldom_looked_for_by_what_ends_at_once(
    name: str, seldom: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A command that goes on for hours looks for it as Python does."""
    found: list[int] = []
    monkeypatch.setattr(command, "_run", lambda words: found.append(gc.get_threshold()[0]) or 0)
    before = gc.get_threshold()[0]
    main([name])
    assert found == [command.FEW_COLLECTIONS if seldom else before]


def test_garbage_is_looked_for_as_before_afterwards(run: Run) -> None:
    """Whoever calls a command from Python gets the collector back as it was, even where the words were wrong."""
    before = gc.get_threshold()
    run("rank", "--nonsense")
    assert gc.get_threshold() == before


def ranked(run: Run, *words: str) -> dict[str, Any]:
    status, out, err = run(*RANK, *words, "--json")
    assert (status, err) == (0, "")
    result: dict[str, Any] = json.loads(out)
    return result


def test_a_squawk_that_does_not_come_up(run: Run) -> None:
    """The squawk names its symptom, the ground-safety switch leads (common practice, no source), a question is next."""
    result = ranked(run, "--squawk", SQUAWK)
    assert [s["id"] for s in result["symptoms"]] == ["will-not-retract"]
    assert result["components"][0]["component"] == "ground-safety-switch"
    assert result["next"][0]["kind"] == "ask"


def test_a_gear_that_stays_down_is_left_down(run: Run) -> None:
    """The pilot is told to leave it down and land (common practice, no source)."""
    advice = " ".join(ranked(run, "--symptom", "will-not-retract")["pilot_advice"]).lower()
    assert "leave it down" in advice
    assert "land" in advice


def test_the_document_has_every_key_that_is_promised(run: Run) -> None:
    """Keys of the document, of a cause and of a step are those that other programs rely on."""
    result = ranked(run, "--symptom", "horn-silent")
    assert set(result) == {
        "family", "knowledge", "assumed", "symptoms", "absent", "heard_absent", "causes", "components", "unlisted",
        "left_out", "conflict_bits", "contradiction", "next", "to_go", "fetch", "waiting", "cautions", "pilot_advice",
    }  # fmt: skip
    assert set(result["causes"][0]) == {"fault", "component", "leg", "name", "probability", "comes_and_goes"}
    assert set(result["next"][0]) == {
        "kind", "id", "name", "expected_minutes", "minutes_now", "people", "equipment", "needs", "to_set_up",
        "to_restore", "cautions", "saves_minutes", "outcomes", "why", "also", "money_now", "refined",
    }  # fmt: skip


def test_what_is_denied_in_words_is_told_apart_from_what_counts(run: Run) -> None:
    """Words are held against the mechanic's eyes first; --without counts."""
    words = ranked(run, "--squawk", "gear would not come up, the horn was quiet", "--without", "lights-disagree")
    assert (words["absent"], words["heard_absent"]) == (["lights-disagree"], ["horn-sounds-gear-down"])


@pytest.mark.parametrize("said", [(), ("--squawk", " "), ("--answer", "bus-volts=holds")])
def test_without_a_squawk_nothing_is_advised(run: Run, said: tuple[str, ...]) -> None:
    """A script with an empty variable would be told to call a specialist."""
    status, out, err = run(*RANK, *said)
    assert (status, out) == (2, "")
    assert "say what the pilot reported" in err


def test_a_symptom_is_not_there_and_absent(run: Run) -> None:
    """Of two options that cannot both be meant none is taken."""
    status, _, err = run(*RANK, "--symptom", "horn-silent", "--without", "horn-silent")
    assert status == 2
    assert "horn-silent is given with --symptom and with --without" in err


def test_the_same_input_gives_the_same_output(run: Run) -> None:
    """Twice the same words, twice the same document."""
    assert ranked(run, "--symptom", "doors-loose") == ranked(run, "--symptom", "doors-loose")


def test_no_floor_panel_is_lifted_on_jacks(run: Run) -> None:
    """From on jacks, a step that needs the floor out puts the jacks down first."""
    result = ranked(run, "--symptom", "will-not-retract", "--standing", "on-jacks")
    needing = [step for step in result["next"] if "floor-panel-out" in step["to_set_up"]]
    assert needing
    assert all("on-jacks" in step["to_restore"] for step in needing)


def test_every_step_on_jacks_shows_the_jacking_warning(run: Run) -> None:
    """Whatever sets up the jacks shows the caution of jacking points and lowering."""
    result = ranked(run, "--symptom", "will-not-retract")
    jacked = [step for step in result["next"] if "on-jacks" in step["to_set_up"]]
    assert jacked
    assert all("jacking-points-and-lowering" in step["cautions"] for step in jacked)


def test_steps_for_two_are_not_offered_to_one(run: Run) -> None:
    """With one person no step needs two."""
    result = ranked(run, "--symptom", "will-not-retract", "--people", "1")
    assert all(step["people"] == 1 for step in result["next"])


def test_a_reading_without_a_limit_is_refused_with_the_typical_value(run: Run) -> None:
    """The program never judges by a typical value: it names it and asks for the manual's."""
    check = _check_with_reading(run)
    status, out, err = run(*RANK, "--symptom", "will-not-retract", "--reading", f"{check}=11 V")
    assert (status, out) == (2, "")
    assert "--limit" in err
    assert "manual" in err


def _check_with_reading(run: Run) -> str:
    from faulttree.book import read_book
    from faulttree_cli.places import shipped_book

    book = read_book([shipped_book()], "electromechanical").book
    assert book is not None
    return next(c.id for c in book.checks.values() if c.reading is not None and c.reading.unit == "V")


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--symptom", "will-not-retrackt"), "'will-not-retract'"),
        (("--answer", "motor-heard"), "NAME=VALUE"),
        (("--symptom", "will-not-retract", "--answer", "motor-heard=loud"), "it has: "),
        (("--standing", "on-jackz"), "'on-jacks'"),
        (("--hours", "-3"), "--hours"),
        (("--hours", "nan"), "--hours"),
        (("--circumstance", "wett"), "'wet'"),
        (("--fitted", "no-such-option"), "no-such-option"),
        (("--standing", "gear-powered", "--standing", "crank-engaged"), "cannot stand together"),
        (("--knowledge", "/nowhere/at/all"), "/nowhere/at/all"),
    ],
)
def test_bad_input_is_one_message_and_status_2(run: Run, words: tuple[str, ...], named: str) -> None:
    """What is wrong is named on stderr, with what would be right; stdout stays empty."""
    status, out, err = run(*RANK, *words)
    assert (status, out) == (2, "")
    assert named in err
    assert "Traceback" not in err


def test_answers_that_cannot_be_true_together_are_a_document_too(run: Run, tmp_path: Path) -> None:
    """Checks that never err rule out every cause: the answers are named, U holds all, the status stays 0."""
    (tmp_path / "more" / "made-up").mkdir(parents=True)
    sure = FAMILY.replace("detects: 0.7\n    false_alarm: 0.1", "detects: 1\n    false_alarm: 0").replace(
        "detects: 0.95\n    false_alarm: 0.02\n    wakes: 0.8", "detects: 1\n    false_alarm: 0\n    wakes: 1"
    )
    (tmp_path / "more" / "made-up" / "all.yaml").write_text(sure, encoding="utf-8")
    words = ("rank", "--family", "made-up", "--knowledge", str(tmp_path / "more"), "--symptom", "stays-down", "--json")
    one = json.loads(run(*words, "--answer", "motor-sound=silent")[1])
    status, out, _ = run(*words, "--answer", "motor-sound=silent", "--answer", "switch-continuity=steady")
    both = json.loads(out)
    assert (status, one["contradiction"], both["unlisted"]) == (0, None, 1.0)
    assert {e.get("check") for e in both["contradiction"]} >= {"motor-sound", "switch-continuity"}


def test_an_action_begins_an_epoch(run: Run) -> None:
    """After an action its follow-ups come first."""
    words = ("--symptom", "will-not-retract", "--did", "replace-ground-safety-switch")
    first = ranked(run, *words)["next"][0]["id"]
    assert first in {"ground-safety-continuity", "retraction-test"}


def test_a_fault_of_the_program_is_told_without_a_traceback(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever breaks inside is one message and status 2."""
    monkeypatch.setattr("faulttree_cli.places.shipped_book", lambda: 1 / 0)
    status, out, err = run(*RANK)
    assert (status, out) == (2, "")
    assert "ZeroDivisionError" in err
    assert "Traceback" not in err


def test_work_without_a_terminal_says_so(run: Run) -> None:
    """`work` needs a person at both ends."""
    status, out, err = run("work")
    assert (status, out) == (2, "")
    assert "terminal" in err


def test_a_case_that_is_not_there_is_named(run: Run) -> None:
    """`record` of an unknown case says which there are."""
    status, _, err = run("record", "no-such-case")
    assert status == 2
    assert "no-such-case" in err


def test_nothing_recognised_is_an_empty_list(run: Run) -> None:
    """`squawk --json` on words about something else."""
    status, out, _ = run("squawk", "--family", "electromechanical", "radio is scratchy on com two", "--json")
    assert (status, json.loads(out)) == (0, {"symptoms": [], "absent": [], "unsure": []})


def test_knowledge_list_names_what_other_programs_need(run: Run) -> None:
    """`knowledge list --json` has every section, components without legs."""
    status, out, _ = run("knowledge", "list", "--family", "electromechanical", "--json")
    found = json.loads(out)["families"]["electromechanical"]
    assert status == 0
    assert {"symptoms", "components", "faults", "checks", "conditions", "circumstances", "fitted"} <= set(found)
    assert not any(name.endswith(("-left", "-right", "-nose")) for name in found["components"])


@pytest.mark.parametrize("family", share(["electromechanical", "power-pack", "engine-driven"], 3, "whole"))
def test_the_shipped_book_is_sound_and_its_cases_pass(run: Run, family: str) -> None:
    """`knowledge check` finds nothing at any option, and every regression case brings out what it must.

    `.ci/run` checks all families by the command itself.
    """
    status, out, _ = run("knowledge", "check", "--family", family)
    assert (status, out.strip().splitlines()[-1].endswith("0 misses")) == (0, True), out


def test_ten_mistakes_are_reported_with_their_lines_in_one_run(run: Run, tmp_path: Path) -> None:
    """A book with ten different mistakes: each is named with file and line."""
    family = tmp_path / "broken"
    family.mkdir()
    (family / "all.yaml").write_text(BROKEN, encoding="utf-8")
    status, out, _ = run("knowledge", "check", "--family", "broken", "--knowledge", str(tmp_path))
    told = {int(line.split(":")[1]) for line in out.splitlines() if line.startswith(str(family))}
    assert status == 1
    assert {n for n, line in enumerate(BROKEN.splitlines(), 1) if "# wrong" in line} <= told


BROKEN = """\
family: {id: broken, name: Broken gear, proof: look}
components:
  switch: {name: Switch, colour: red}            # wrong: unknown key
faults:
  switch.open: {name: open, rate: -1, basis: estimate, corrected_by: [mend]}       # wrong: rate below 0
  switch.shut: {name: shut, rate: 0.1, corrected_by: [mend]}                       # wrong: no basis
  switch.worn: {name: worn, rate: 0.1, basis: estimate, corrected_by: [mennd]}     # wrong: no such action
  motor.dead: {name: dead, rate: 0.1, basis: estimate, corrected_by: [mend]}       # wrong: no such component
events:
  ring-one: {name: One, any_of: [ring-two]}      # wrong: a ring
  ring-two: {name: Two, any_of: [ring-one]}
symptoms:
  dead: {name: Dead, says: [a, b, c, d, e], when: {any_of: [switch.open, switch.shot]}}   # wrong: no such fault
checks:
  look:
    name: Look
    kind: looking                                # wrong: no such kind
    minutes: 1
    proof: true
    basis: estimate
    detects: 1.5                                 # wrong: above 1
    false_alarm: 0.1
    outcomes:
      bad: {label: Bad, when: the-squawk}
      good: {label: Good, otherwise: true}
actions:
  mend: {name: Mend, minutes: 10, basis: estimate, follow_up: [lok]}               # wrong: no such check
"""
