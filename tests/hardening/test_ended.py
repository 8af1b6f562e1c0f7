"""Told to end from outside, or the terminal gone, at each kind of prompt: what was answered is kept, and it is said.

Signals as POSIX has them; a terminal is left as it was found, so that typing shows in it.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from faulttree.store import Cases, Database, verify_cases
from tests.support.share import share
from tests.support.window import PROGRAM, Window

STEPS = (
    ("", "", "Registration"),
    ("enter", "QQ-ELM", "What did the pilot say?"),
    ("enter", "wheels wont come up", "Gear stays down?"),
    ("press", "y", "Anything else?"),
    ("enter", "", "emergency"),
    ("press", "2", "locked"),
    ("press", "1", "Which of these"),
    ("enter", "", "How many flight hours?"),
    ("enter", "", "Was the motor heard"),
    ("press", "a", "Note"),
)
AT = {"a line before there is a case": 1, "a key": 3, "a line": 4, "the main screen": 9, "a line beside it": 10}
"""How many of the steps are gone to come to each kind of prompt."""


@pytest.fixture(autouse=True)
def hang_ups_are_heard() -> Iterator[None]:
    """The program is begun with the signal as it usually is, also where the tests themselves run under nohup."""
    before = signal.signal(signal.SIGHUP, signal.SIG_DFL)
    yield
    signal.signal(signal.SIGHUP, before)


def window(more: Path) -> Window:
    words = ["work", "--family", "made-up", "--knowledge", str(more)]
    return Window(words, {"TERM": "xterm-256color", "NO_COLOR": "1"})


def go(shown: Window, steps: int) -> None:
    for how, keys, until in STEPS[:steps]:
        if how:
            (shown.enter if how == "enter" else shown.press)(keys)
        shown.until(until)


def kept(at: Path) -> list[str]:
    """Kinds of the entries of the one case, none where there is none; it verifies."""
    if not (at / "cases" / "cases.sqlite").exists():
        return []
    with closing(Database(at / "cases" / "cases.sqlite")) as database:
        cases = Cases(database)
        names = [card.name for card in cases.cards()[0]]
        assert [verdict.wrong for verdict in verify_cases(cases, names)] == [""] * len(names)
        return [entry.kind for name in names for entry in cases.read(name)]


ANSWERED = ["opened", "squawk", "symptom", "symptoms-settled", "opening", "opening", "circumstance", "hours"]
"""What each of the steps from the third on adds."""


@pytest.mark.parametrize(
    ("number", "at"),
    share(
        [*((signal.SIGTERM, at) for at in AT), (signal.SIGINT, "a key"), (signal.SIGINT, "a line beside it")], 3, "told"
    ),
    ids=str,
)
def test_told_to_end_it_says_what_is_kept(more: Path, tmp_path: Path, number: int, at: str) -> None:
    """Every answer is kept, the window shows how to go on, and typing shows in it again."""
    steps = AT[at]
    with window(more) as shown:
        go(shown, steps)
        status, text, typing_shows = shown.end(number)
    assert (status, typing_shows) == (128 + number if number == signal.SIGTERM else 0, True)
    assert ("Nothing was begun." if steps < 3 else "is kept.") in text
    assert "Traceback" not in text
    assert kept(tmp_path) == ANSWERED[: len(kept(tmp_path))]
    assert len(kept(tmp_path)) == (0 if steps < 3 else min(steps - 1, len(ANSWERED)))


@pytest.mark.parametrize("steps", share([1, 3, 10], 3, "gone"))
def test_the_terminal_gone_loses_nothing(more: Path, tmp_path: Path, steps: int) -> None:
    """It ends at once, by itself, with the status of a hang-up, and every answer is kept."""
    with window(more) as shown:
        go(shown, steps)
        assert shown.hang_up() == 128 + signal.SIGHUP
    assert len(kept(tmp_path)) == (0 if steps < 3 else min(steps - 1, len(ANSWERED)))


def test_the_terminal_gone_unsaid_ends_it_too(more: Path, tmp_path: Path) -> None:
    """Where the signal is ignored, as under nohup: it does not go on by itself, and all is kept."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        shown = window(more)
    finally:
        signal.signal(signal.SIGHUP, before)
    with shown:
        go(shown, 4)
        assert 0 <= shown.hang_up() <= 2
    assert kept(tmp_path) == ANSWERED[:3]


@pytest.mark.parametrize("number", share([signal.SIGTERM, signal.SIGHUP, signal.SIGINT], 3, "line by line"))
def test_line_by_line_it_ends_alike(more: Path, tmp_path: Path, number: int) -> None:
    """Where answers come through a pipe that is still open."""
    words = ["work", "--plain", "--family", "made-up", "--knowledge", str(more)]
    with subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *words], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as program:
        assert program.stdin is not None
        assert program.stdout is not None
        program.stdin.write(b"QQ-ELM\nwheels wont come up\n")
        program.stdin.flush()
        said = b""
        while b"Gear stays down?" not in said:
            said += os.read(program.stdout.fileno(), 65536)
        program.send_signal(number)
        rest, _ = program.communicate(timeout=30)
    assert program.returncode == (0 if number == signal.SIGINT else 128 + number)
    assert (b"is kept." in rest, b"Traceback" in rest) == (True, False), rest
    assert kept(tmp_path) == ANSWERED[:2]


def test_a_reader_that_goes_away_is_no_error(more: Path) -> None:
    """As with `| head -1`: nothing is said of it."""
    line = [sys.executable, "-c", PROGRAM, "knowledge", "list"]
    with subprocess.Popen(line, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as program:
        assert program.stdout is not None
        program.stdout.close()
        assert program.stderr is not None
        said = program.stderr.read()
    assert (program.returncode, said) == (0, b"")
