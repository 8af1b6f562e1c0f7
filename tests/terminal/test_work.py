"""`faulttree work` by keystrokes through a pipe: what the mechanic types, what is shown, what is on the disk."""

from __future__ import annotations

import io
import re
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from faulttree.store import Store
from faulttree_cli import worker
from faulttree_cli.terminal import Terminal
from tests.support.small_family import FAMILY

OPENING = "QQ-ELM\rwheels wont come up\ry\r21\r\r"
"""Job, squawk, yes, nothing else, lowered by normal means, legs locked, no circumstances, usual hours."""


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FAULTTREE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path / "cases"))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    (tmp_path / "more" / "made-up").mkdir(parents=True)
    (tmp_path / "more" / "made-up" / "all.yaml").write_text(FAMILY, encoding="utf-8")


@contextmanager
def typing(keys: str) -> Iterator[tuple[Terminal, io.StringIO]]:
    shown = io.StringIO()
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_text(keys)
        yield Terminal(pipe, DummyOutput(), shown), shown


def work(tmp_path: Path, keys: str, case: str | None = None) -> str:
    """Types ``keys`` (the last of which has to end the program) and returns all that was shown."""
    given = Namespace(case=case, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")])
    with typing(keys) as (terminal, shown):
        assert worker.run(given, terminal) == 0
    return shown.getvalue()


def kinds(tmp_path: Path) -> list[str]:
    store = Store(tmp_path / "cases")
    return [entry.kind for entry in store.read(store.cases()[0])]


def test_the_standing_cautions_come_first(tmp_path: Path) -> None:
    """Before anything is asked, the manual, the persons and "not in flight" are on the screen."""
    shown = work(tmp_path, OPENING + "q")
    assert shown.index("WARNING") < shown.index("LIKELY CAUSES")
    assert "flight" in shown[: shown.index("LIKELY CAUSES")].lower()


def test_one_key_answers_a_question(tmp_path: Path) -> None:
    """On the main screen a digit answers, and the answer is on the disk."""
    work(tmp_path, OPENING + "2q")
    assert kinds(tmp_path)[-2:] == ["started", "answer"]


def test_keys_that_mean_nothing_do_nothing(tmp_path: Path) -> None:
    """Wrong keys leave no entry."""
    work(tmp_path, OPENING + "Z%9q")
    assert kinds(tmp_path)[-1] == "hours"


def test_cautions_stand_before_the_set_up(tmp_path: Path) -> None:
    """Accepting the check on jacks shows its warnings; nothing is set up before they are acknowledged."""
    shown = work(tmp_path, OPENING + "2yq")
    assert "Before: Continuity of the guard switch" in shown
    assert "set-up" not in kinds(tmp_path)
    assert "cautions" not in kinds(tmp_path)


def test_the_cautions_that_were_read_are_named_in_the_log(tmp_path: Path) -> None:
    """The entry lists every caution of the step."""
    work(tmp_path, OPENING + "2y" + "y" * 12 + "q")
    store = Store(tmp_path / "cases")
    entry = next(e for e in store.read(store.cases()[0]) if e.kind == "cautions")
    assert "jacking-points-and-lowering" in entry.data["cautions"]


def test_undo_takes_the_answer_back(tmp_path: Path) -> None:
    """u adds an entry that undoes the answer; nothing is taken out."""
    work(tmp_path, OPENING + "2uq")
    assert kinds(tmp_path)[-2:] == ["answer", "undone"]


def test_a_case_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """After a quit in the middle of a step the same step is shown."""
    work(tmp_path, OPENING + "2yq")
    name = Store(tmp_path / "cases").cases()[0]
    assert "Before: Continuity of the guard switch" in work(tmp_path, "q", case=name)


def test_control_c_keeps_the_case(tmp_path: Path) -> None:
    """Interrupted, the program says how to go on, and every answer stands."""
    shown = work(tmp_path, OPENING + "2\x03")
    assert "faulttree work " in shown
    assert kinds(tmp_path)[-1] == "answer"


@pytest.mark.parametrize(("key", "words"), [("w", "Why this step"), ("o", "Other steps"), ("h", "So far")])
def test_side_views_open_and_close(tmp_path: Path, key: str, words: str) -> None:
    """Why, other steps and the course so far come at one key, and b goes back."""
    assert words in work(tmp_path, OPENING + key + "bq")


def test_a_fault_found_by_its_number(tmp_path: Path) -> None:
    """f, then a number: the find is in the log."""
    work(tmp_path, OPENING + "f1\rq")
    assert kinds(tmp_path)[-1] == "found"


def test_something_the_book_does_not_know_is_kept_in_words(tmp_path: Path) -> None:
    """f, then words that name no fault: kept as they were typed."""
    work(tmp_path, OPENING + "fa mouse nest in the well\rq")
    store = Store(tmp_path / "cases")
    assert store.read(store.cases()[0])[-1].data == {"text": "a mouse nest in the well"}


def test_leaving_open_wants_a_reason(tmp_path: Path) -> None:
    """x and a reason end the work; the reason is in the log."""
    shown = work(tmp_path, OPENING + "xawaiting a part\r")
    assert "Left open: awaiting a part" in shown


def test_help_is_always_there(tmp_path: Path) -> None:
    """? tells the keys."""
    assert "Number keys answer" in work(tmp_path, OPENING + "?q")


def test_no_line_is_wider_than_the_window(tmp_path: Path) -> None:
    """Eighty columns hold every screen."""
    shown = work(tmp_path, OPENING + "2y" + "y" * 6 + "q")
    assert max(len(line) for line in shown.splitlines()) <= 80


@pytest.mark.parametrize(("asked", "coloured"), [(None, True), ("1", False)])
def test_no_color_is_honoured(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: str | None, coloured: bool
) -> None:
    """A window that shows colour gets it, and none with NO_COLOR; the level stands there in words either way."""
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.delenv("NO_COLOR", raising=False)
    if asked is not None:
        monkeypatch.setenv("NO_COLOR", asked)
    shown = work(tmp_path, OPENING + "q")
    assert bool(re.search("\x1b\\[[0-9;]*3[0-7]m", shown)) is coloured
    assert "WARNING" in shown


def test_a_case_goes_on_with_the_overlay_it_was_opened_with(tmp_path: Path) -> None:
    """Resumed without naming the folder again, the same book is read."""
    work(tmp_path, OPENING + "q")
    given = Namespace(case=Store(tmp_path / "cases").cases()[0], family="electromechanical", fitted=[], knowledge=[])
    with typing("q") as (terminal, shown):
        assert worker.run(given, terminal) == 0
    assert "Guard switch" in shown.getvalue()


def test_cautions_are_not_passed_by_enter(tmp_path: Path) -> None:
    """Enter does not acknowledge: the last page waits for its key."""
    work(tmp_path, OPENING + "2y" + "\r" * 9 + "q")
    assert "cautions" not in kinds(tmp_path)
