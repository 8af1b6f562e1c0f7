"""`faulttree drill` by keystrokes and by lines: what a learner types, what is shown, what is kept."""

from __future__ import annotations

import io
import json
from argparse import Namespace
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from faulttree.drill import Act
from faulttree.store import Database, Drills, KeptDrill
from faulttree_cli import drilling
from faulttree_cli.commands import front
from faulttree_cli.desk import user
from faulttree_cli.main import main
from faulttree_cli.plain_terminal import PlainTerminal
from faulttree_cli.terminal import Terminal
from tests.support.typed import in_folders_of_its_own, typing

READ, ASKED = "r", "p1\ryp2\ry"
"""The standing cautions read; both opening questions asked."""


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    in_folders_of_its_own(monkeypatch, tmp_path)


def asked(tmp_path: Path, **more: Any) -> Namespace:
    """What stands on the command line: a drill of level 1 by seed 3 on the made-up family."""
    words = {
        "family": "made-up", "symptom": "stays-down", "level": 1, "seed": 3, "scenario": None, "lesson": None,
        "fitted": [], "knowledge": [str(tmp_path / "more")], "plain": False, **more,
    }  # fmt: skip
    return Namespace(**words)


def drill(tmp_path: Path, keys: str, **more: Any) -> str:
    """Types ``keys`` (the last of which has to end the program) and returns all that was shown."""
    with typing(keys) as (terminal, shown):
        assert drilling.run(asked(tmp_path, **more), terminal) == 0
    return shown.getvalue()


def kept(tmp_path: Path) -> list[KeptDrill]:
    """All drills in the store."""
    database = Database(tmp_path / "cases" / "cases.sqlite")
    found = Drills(database).all()
    database.close()
    return found


def test_the_standing_cautions_come_first(tmp_path: Path) -> None:
    """Before the squawk is told."""
    shown = drill(tmp_path, READ + "q")
    assert shown.index("WARNING") < shown.index("stands   as it came in")


def test_what_is_unsafe_is_stopped_with_its_caution(tmp_path: Path) -> None:
    """Touched before it was asked how the aircraft stands: the reason, and what could have happened."""
    shown = drill(tmp_path, READ + "s2\rrq")
    assert "STOPPED as unsafe, and counted." in shown
    assert "Nobody has asked yet" in shown


def test_cautions_are_asked_for_before_the_step(tmp_path: Path) -> None:
    """From a list; what was left out is told with the cautions in full."""
    shown = drill(tmp_path, READ + ASKED + "ssecured against\r2\r\r" + "r" * 3 + "yq")
    assert shown.index("Which of these apply") < shown.index("Left out:") < shown.index("Set up: Secured")


UNREADY = READ + ASKED + "l1\r"
"""A test is chosen of which nothing stands that it wants."""


def test_what_a_step_wants_first_is_shown_before_it_counts(tmp_path: Path) -> None:
    """In its order; whoever goes back has done nothing."""
    shown = drill(tmp_path, UNREADY + "bq")
    words = ("wants first:", "1 set up   Secured", "3 set up   On jacks", "f do these first")
    assert [shown.index(w) for w in words] == sorted(shown.index(w) for w in words)
    assert [act["kind"] for act in kept(tmp_path)[0].acts] == ["opening", "opening"]


def test_what_a_step_wants_first_is_done_where_it_is_asked_for(tmp_path: Path) -> None:
    """One after the other, each with its cautions."""
    out, lines = io.StringIO(), io.StringIO("r\np\n1\ny\np\n2\ny\nl\n1\nf\n\nr\ny\n")
    assert drilling.run(asked(tmp_path, plain=True), PlainTerminal(lines, out)) == 0
    shown = out.getvalue()
    assert "Set up: Secured" in shown[shown.index("Which of these apply") :]


def test_a_step_done_without_what_it_wants_is_stopped_and_counted(tmp_path: Path) -> None:
    """In spite of what was shown."""
    assert "STOPPED as unsafe, and counted." in drill(tmp_path, UNREADY + "ir" + "q")


def gone_on(tmp_path: Path, acts: list[Act], keys: str) -> str:
    """Puts a drill into the store in which these acts were done after the opening questions, and goes on with it."""
    drill(tmp_path, READ + ASKED + "q")
    (left,) = kept(tmp_path)
    database = Database(tmp_path / "cases" / "cases.sqlite")
    Drills(database).keep(replace(left, acts=[*left.acts, *(act.as_data() for act in acts)]))
    database.close()
    return drill(tmp_path, "y" + READ + keys, symptom=None, level=None, seed=None)


def test_older_findings_are_counted_and_shown_at_a_key(tmp_path: Path) -> None:
    """The screen has room for the latest five; the line below says how many there are, and h shows them."""
    shown = gone_on(tmp_path, [Act("check", "motor-sound")] * 7, "hyq")
    assert "and 2 older: h shows all" in shown
    assert shown[shown.index("Found so far, the latest first (7):") :].count("Motor heard:") >= 7


def test_the_pilots_words_stay_where_the_window_is_small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Older findings make room for them; h shows all."""
    monkeypatch.setattr(Terminal, "fits", lambda self, parts: self.height_of(parts) < 19)
    shown = gone_on(tmp_path, [Act("check", "motor-sound")] * 7, "q")
    assert "and 4 older: h shows all" in shown
    assert shown.index('pilot    "') < shown.index("known    Motor heard")


def test_what_is_due_after_a_repair_stands_on_the_main_screen(tmp_path: Path) -> None:
    """Until it was done."""
    shown = gone_on(tmp_path, [*ON_JACKS, Act("repair", "replace-guard-switch")], "q")
    assert "due      Cycle on jacks" in shown


def test_the_front_page_says_that_a_drill_waits(tmp_path: Path) -> None:
    """Which, and how far it has come; and nothing once it was ended."""
    (tmp_path / "settings.toml").write_text(f"overlays = [{json.dumps(str(tmp_path / 'more'))}]\n", encoding="utf-8")

    def page() -> str:
        with typing("q") as (terminal, shown):
            assert front.run(terminal) == 0
        return " ".join(shown.getvalue().split())

    assert "waits" not in page()
    drill(tmp_path, READ + ASKED + "q", knowledge=[])
    assert "one waits to be gone on with: Made-up gear, level 1, 2 steps so far" in page()
    drill(tmp_path, "y" + READ + "x" + "y" * 12, symptom=None, level=None, seed=None, knowledge=[])
    assert "waits" not in page()


ON_JACKS = [Act("set-up", name) for name in ("secured", "motor-breaker-pulled", "on-jacks")]


def test_after_a_repair_the_checks_that_are_due_are_shown(tmp_path: Path) -> None:
    """Once the choice was made: named, left out, or named and not due."""
    shown = gone_on(tmp_path, ON_JACKS, "rguard\r1\rstuck\r1\rreplace the guard\r4\r\ryq")
    assert "left out  Cycle on jacks" in shown[shown.index("Due after it:") :]


def test_a_drill_left_is_gone_on_with(tmp_path: Path) -> None:
    """It is its setting and its acts; the next call offers it."""
    drill(tmp_path, READ + ASKED + "q")
    (left,) = kept(tmp_path)
    assert (left.ended, len(left.acts)) == (False, 2)
    shown = drill(tmp_path, "y" + READ + "q", symptom=None, level=None, seed=None)
    assert "You left a drill." in shown
    assert "2 steps so far" in shown


def test_the_debrief_is_shown_and_the_score_is_kept(tmp_path: Path) -> None:
    """After help: what it was, both paths, three lines to practise."""
    shown = drill(tmp_path, READ + ASKED + "x" + "y" * 12)
    assert "What was wrong:" in shown
    assert "3. " in shown[shown.index("To practise next:") :]
    assert shown.index("To practise next:") < shown.index("1 advisor")
    (done,) = kept(tmp_path)
    assert (done.ended, done.score["ended"], done.who) == (True, "help", user())


def test_the_debrief_is_short_and_has_its_details_behind_a_key(tmp_path: Path) -> None:
    """Reasons stand only there."""
    acts = [*ON_JACKS, Act("check", "switch-continuity")]
    short = gone_on(tmp_path, acts, "xyq")
    assert "why:" not in short[short.index("Debrief, page 1") :]
    (left,) = kept(tmp_path)
    assert left.ended


def test_details_tell_the_better_step_and_that_it_is_not_proven(tmp_path: Path) -> None:
    """With the figures and the advisor's reasons."""
    acts = [*ON_JACKS, Act("check", "switch-continuity")]
    shown = gone_on(tmp_path, acts, "xyd" + "y" * 9)
    told = shown[shown.index("Details, page 1") :]
    assert "risky set-ups" in told
    assert "why:" in told
    assert "refined advice" in told


def test_all_of_it_can_be_said_line_by_line(tmp_path: Path) -> None:
    """Answers come as lines, and nothing is broken over two."""
    out = io.StringIO()
    lines = io.StringIO("r\np\n1\ny\np\n2\ny\nx\n" + "y\n" * 12)
    assert drilling.run(asked(tmp_path, plain=True), PlainTerminal(lines, out)) == 0
    assert "Minute 0, you: " in out.getvalue()


def test_progress_is_told_and_only_a_lead_sees_the_group(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And it is said that this is no access control."""
    drill(tmp_path, READ + ASKED + "x" + "y" * 12)
    assert main(["drill", "--progress"]) == 0
    told = capsys.readouterr().out
    assert "not access control" in " ".join(told.split())
    assert max(map(len, told.splitlines())) <= 80
    assert main(["drill", "--group"]) == 2
    assert "no access control" in capsys.readouterr().err
    (tmp_path / "settings.toml").write_text(f"leads = [{json.dumps(user())}]\n", encoding="utf-8")
    assert main(["drill", "--group", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rows"][0]["drills"] == 1


def test_lessons_are_offered_before_drills(tmp_path: Path) -> None:
    """Where the line says nothing; the one that is chosen by its number is read first."""
    shown = drill(tmp_path, "l1\rq", family=None, symptom=None, level=None, seed=None)
    assert shown.index("l lessons") < shown.index("Which lesson?") < shown.index("y begin the drill")


def test_lessons_and_fixed_drills_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """With the words by which they are asked for."""
    assert main(["drill", "--list"]) == 0
    assert "half-split" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["--lesson", "half-splt"], "the nearest is 'half-split'"),
        (["--family", "power-pack", "--scenario", "quiet-levr"], "the nearest is 'quiet-lever'"),
        (["--family", "power-pack", "--symptom", "horn-silnt"], "the nearest is 'horn-silent'"),
    ],
)
def test_a_misspelt_name_is_told(words: list[str], named: str, capsys: pytest.CaptureFixture[str]) -> None:
    """In one line, with the nearest right one."""
    assert main(["drill", *words, "--plain"]) == 2
    assert named in capsys.readouterr().err
