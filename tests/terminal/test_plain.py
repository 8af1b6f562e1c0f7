"""`faulttree work --plain`: everything said line by line, every answer a line of its own."""

from __future__ import annotations

import io
from argparse import Namespace
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from faulttree.advice import Advice, Advisor, Budget, Situation
from faulttree.belief import Belief
from faulttree_cli import worker, writing
from faulttree_cli.plain_terminal import PlainTerminal
from tests.support.typed import in_folders_of_its_own

OPENING = ["QQ-ELM", "wheels wont come up", "y", "", "2", "1", "", ""]
"""As in test_work: up to the main screen."""


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    in_folders_of_its_own(monkeypatch, tmp_path)


def said(tmp_path: Path, *lines: str, case: str | None = None) -> str:
    """All that is said to these lines, the last of which has to end the program."""
    given = Namespace(
        case=case, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft=None, plain=True
    )
    told = io.StringIO()
    assert worker.run(given, PlainTerminal(io.StringIO("".join(f"{line}\n" for line in lines)), told)) == 0
    return told.getvalue()


def _another_is_better(monkeypatch: pytest.MonkeyPatch, in_time: Sequence[bool]) -> None:
    """Played to the end the second way is the best; whether that is known in time, look by look."""
    quick: Callable[..., Advice] = Advisor.advise
    looks = iter(in_time)

    def refined(advisor: Advisor, belief: Belief, situation: Situation, budget: Budget) -> Advice:
        first, second, *others = quick(advisor, belief, situation, ahead=False).suggestions
        return Advice((replace(second, name="The better one"), first, *others), None, refined=next(looks, True))

    monkeypatch.setattr(Advisor, "refine", refined)


def test_a_better_step_known_in_time_is_the_one_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody has heard of another, so that no line tells of a better one."""
    _another_is_better(monkeypatch, [True])
    shown = said(tmp_path, *OPENING, "q")
    assert "The better one" in shown
    assert "Looked further ahead" not in shown


def test_a_better_step_known_later_takes_no_ones_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The question that was heard is said again, with a line on the better one; g tells that."""
    _another_is_better(monkeypatch, [False, True])
    shown = said(tmp_path, *OPENING, "h", "b", "g", "q")
    heard, _, then = shown.partition("Looked further ahead: another step is better now. g shows it.")
    assert "The better one" not in heard
    assert "The better one" in then
    assert heard.count("Was the motor heard when up was selected?") == 2


def test_each_key_is_a_sentence_of_its_own(tmp_path: Path) -> None:
    """Key and meaning are heard together."""
    keys = next(line for line in said(tmp_path, *OPENING, "q").splitlines() if line.startswith("Keys. n:"))
    assert keys.startswith("Keys. n: not asked. t: can't tell, or it was not so. w: why.")
    assert keys.endswith("q: quit. ?: help.")


def test_the_way_on_stays_plain(tmp_path: Path) -> None:
    """The command that goes on says everything line by line too; the papers' forms are named beside it."""
    shown = said(tmp_path, *OPENING, "q")
    name = next(line.split()[-3] for line in shown.splitlines() if line.endswith("is kept."))
    assert f"Go on:   faulttree work {name} --plain\n" in shown
    assert f"--out {name}.pdf as a PDF, --out {name}.html as a page" in shown


def test_a_case_is_closed_in_sentences_with_warnings_first(tmp_path: Path) -> None:
    """What is put back at the end is told as all else is, its WARNINGs before its CAUTIONs and NOTEs."""
    on = ["r", "y"]  # a key that means nothing here is asked for again
    shown = said(tmp_path, *OPENING, "f", "lead", "1", "y", *on * 19, "2", "y", "r", "y", "1", *on * 4, *"yqqq")
    _, _, end = shown.partition("The squawk is gone")
    assert "Keys. r: read and understood. q: quit. ?: help." in end
    assert "read and understood   q quit" not in end
    assert "This case is closed." in end
    pages = [[line.partition(":")[0] for line in page.splitlines()] for page in end.split("> ")]
    levels = [[word for word in page if word in ("WARNING", "CAUTION", "NOTE")] for page in pages]
    assert any(len(set(told)) > 1 for told in levels)
    assert all(told == sorted(told, key=("WARNING", "CAUTION", "NOTE").index) for told in levels)


def test_told_to_end_in_the_middle_of_a_line_it_still_says_what_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever in the printing it comes: rich counts how deep it is, and would print nothing any more."""
    leave: Callable[..., None] = Console.__exit__
    left = iter([False] * 40 + [True])

    def stopped(console: Console, *why: object) -> None:
        if next(left, False):
            raise KeyboardInterrupt
        leave(console, *why)

    monkeypatch.setattr(Console, "__exit__", stopped)
    shown = said(tmp_path, *OPENING, "q")
    assert next(left, None) is None  # it came
    assert "is kept." in shown


def test_cases_that_are_not_closed_are_told_of_first(tmp_path: Path) -> None:
    """As the front page lists them; with none there is no word of it."""
    assert "not closed" not in said(tmp_path, *OPENING, "q")
    shown = said(tmp_path, "q")
    assert shown.startswith("One case is not closed:\nQQ-ELM: wheels wont come up. Go on: faulttree work ")


def test_a_long_list_is_not_said_again_after_a_wrong_number(tmp_path: Path) -> None:
    """One line stands for it; a question mark says it again."""
    given = Namespace(case=None, family="electromechanical", fitted=[], knowledge=[], aircraft="QQ-ELM", plain=True)
    told = io.StringIO()
    lines = ["r", "gear will not come up", "y", "99", "?", "b", "q"]
    assert worker.run(given, PlainTerminal(io.StringIO("".join(f"{line}\n" for line in lines)), told)) == 0
    before, _, after = told.getvalue().partition("'99': not among the numbers shown")
    again, _, helped = after.partition("Type the number of anything else")
    assert ["11: Horn sounds when" in part for part in (before, again, helped)] == [True, False, True]
    assert "26 numbers are those of before" in again


def test_in_a_window_lines_are_broken_between_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Elsewhere they are left whole."""
    told = io.StringIO()
    words = "Known: the lead of the guard switch is chafed where it flexes at the leg, and jumps when it is moved."
    PlainTerminal(io.StringIO(), told).show(words)
    monkeypatch.setattr(writing, "window_width", lambda file: 40)
    PlainTerminal(io.StringIO(), told).show(words)
    whole, *broken = told.getvalue().splitlines()
    assert whole == words
    assert " ".join(broken) == words
    assert max(map(len, broken)) <= 40
