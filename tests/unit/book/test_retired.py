"""What an overlay retires: its id stays taken, and whoever still names it is told where it went."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from faulttree.book import read_texts
from faulttree.book.positions import Problem
from faulttree.workshop.checking import read

GONE = "actions:\n  new-lamp: {retires: true, reason: x, by: A. B., date: 2026-03-14}\nfaults:\n"
GONE += "  lamp.dark: {amends: true, corrected_by: [fix-bus]}\n  lamps.dark: {amends: true, corrected_by: [fix-bus]}\n"


def told(sound: Mapping[str, str], text: str) -> list[Problem]:
    """What is wrong in a second overlay over one that retired the lamp's repair."""
    return list(read_texts({**sound, "shop/demo/a.yaml": GONE, "club/demo/b.yaml": text}, "demo").problems)


def test_a_retired_id_is_used_again_in_no_section(sound: Mapping[str, str]) -> None:
    """Not for a thing of another kind either."""
    (problem,) = told(sound, "equipment:\n  new-lamp: A lamp\n")
    assert (str(problem.position), problem.rule) == ("club/demo/b.yaml:2:3", "duplicate-id")
    assert "an action, retired at shop/demo/a.yaml:2:3" in problem.what


def test_who_amends_what_was_retired_is_told_where_and_why(sound: Mapping[str, str]) -> None:
    """And is not asked whether something else was meant."""
    (problem,) = told(sound, "actions:\n  new-lamp: {amends: true, minutes: 9}\n")
    assert "was retired at shop/demo/a.yaml:2:3: x; A. B., 2026-03-14" in problem.what
    assert "did you mean" not in problem.right


def test_what_is_amended_in_another_section_is_told_which(sound: Mapping[str, str]) -> None:
    """And a reason that is a number wants quotes."""
    one, other = told(
        sound,
        "actions:\n  look-at-bus: {amends: true, minutes: 6}\n"
        "checks:\n  swing: {amends: true, reason: 12, minutes: 9}\n",
    )
    assert (one.what, one.right) == ("`look-at-bus` is a check", "write this below `checks:`")
    assert other.right == 'put quotes around it: `reason: "12"`'


def test_an_action_whose_faults_were_retired_is_told_so(sound: Mapping[str, str]) -> None:
    """That it has legs no more is what follows of it."""
    problems = told(sound, "faults:\n  lock.dry: {retires: true, reason: x}\n")
    assert [p.what for p in problems if p.rule == "legs" and "oil-lock" in p.what] == [
        "all that action `oil-lock` mends was retired: lock.dry"
    ]


CASE = """\
cases:
  one:
    description: One
    origin: constructed
    symptoms: [no-up]
    steps: [{answer: look-at-lock-left=dry}]
    expect: {cause: bus.dead, within: 9, not_offered: [look-at-lock-right]}
"""


@pytest.mark.parametrize(("retired", "rules"), [(False, []), (True, ["retired-named"])])
def test_a_case_that_names_a_leg_of_what_was_retired_is_told_once(
    sound: Mapping[str, str], tmp_path: Path, retired: bool, rules: list[str]
) -> None:
    """By its own name, with what to write; beside errors of the book too, so that all come in one go."""
    texts = {f"below/{name}": text for name, text in sound.items()} | {"below/demo/one.cases.yaml": CASE}
    if retired:
        texts["shop/demo/a.yaml"] = "checks:\n  look-at-lock: {retires: true, reason: x}\n"
    for name, text in texts.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    folders = [tmp_path / "below", tmp_path / "shop"] if retired else [tmp_path / "below"]
    problems, _ = read(folders, "demo")
    found = [p for p in problems if p.position.file.endswith(".cases.yaml")]
    assert [p.rule for p in found] == rules
    assert all("case `one` names check `look-at-lock-left` of check `look-at-lock`" in p.what for p in found)
    assert all("`one: {retires: true" in p.right for p in found)
    assert bool([p for p in problems if p.rule == "retired-needs"]) == retired
