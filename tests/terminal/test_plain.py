"""`faulttree work --plain`: everything said line by line, every answer a line of its own."""

from __future__ import annotations

import io
from argparse import Namespace
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from faulttree.advice import Advice, Advisor, Budget, Situation
from faulttree.belief import Belief
from faulttree_cli import worker
from faulttree_cli.plain_terminal import PlainTerminal
from tests.support.small_family import FAMILY

OPENING = ["QQ-ELM", "wheels wont come up", "y", "", "2", "1", "", ""]
"""As in test_work: up to the main screen."""


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FAULTTREE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path / "cases"))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    (tmp_path / "more" / "made-up").mkdir(parents=True)
    (tmp_path / "more" / "made-up" / "all.yaml").write_text(FAMILY, encoding="utf-8")


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
