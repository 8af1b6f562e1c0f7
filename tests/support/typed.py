"""`faulttree work` on the made-up family by keystrokes through a pipe: what is typed, shown and kept."""

from __future__ import annotations

import io
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from faulttree.case import CaseEntry
from faulttree.store import Cases, Database
from faulttree_cli import worker
from faulttree_cli.terminal import Terminal
from tests.support.small_family import FAMILY

OPENING = "QQ-ELM\rwheels wont come up\ry\r21\r\r"
"""Job, squawk, yes, nothing else, lowered by normal means, legs locked, no circumstances, usual hours."""


def in_folders_of_its_own(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """The program's folders below ``folder``, and the made-up family in `more` there."""
    monkeypatch.setenv("FAULTTREE_CASES", str(folder / "cases"))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(folder / "settings.toml"))
    (folder / "more" / "made-up").mkdir(parents=True)
    (folder / "more" / "made-up" / "all.yaml").write_text(FAMILY, encoding="utf-8")


@contextmanager
def typing(keys: str) -> Iterator[tuple[Terminal, io.StringIO]]:
    """A terminal into which keys are typed, and all that it shows."""
    shown = io.StringIO()
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_text(keys)
        yield Terminal(pipe, DummyOutput(), shown), shown


def work(tmp_path: Path, keys: str, case: str | None = None) -> str:
    """Types ``keys`` (the last of which has to end the program) and returns all that was shown."""
    given = Namespace(case=case, family="made-up", fitted=[], knowledge=[str(tmp_path / "more")], aircraft=None)
    with typing(keys) as (terminal, shown):
        assert worker.run(given, terminal) == 0
    return shown.getvalue()


def latest(tmp_path: Path) -> tuple[str, list[CaseEntry]]:
    """The case that was worked last: its name and its log."""
    database = Database(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    cases = Cases(database)
    name = cases.cards()[0][0].name
    entries = cases.read(name)
    database.close()
    return name, entries
