"""The main screen: a chain as a strip, its marks on any terminal, more where there is room."""

from __future__ import annotations

import io

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import DummyInput
from prompt_toolkit.output import DummyOutput
from rich.console import Console

from faulttree.dialogue import Board
from faulttree.dialogue.prompts import CauseLine
from faulttree.dialogue.where import Stretch, Strip
from faulttree_cli.screens.board import (
    BARE,
    MARKS,
    PLAIN_MARKS,
    SHORT,
    TIGHT,
    BoardScreen,
    in_one_line,
    legend,
    marks_for,
    strip_lines,
)
from faulttree_cli.terminal import Terminal
from tests.support.small_family import small_book

STRIP = Strip(
    "Feed",
    (
        Stretch("bus", 0.0, "proved"), Stretch("breaker", 0.0, "open"), Stretch("ground safety", 0.5, "strong", True),
        Stretch("up limit", 0.15, "suspect"),
    ),
)  # fmt: skip


def test_a_strip_runs_from_the_source_to_the_end() -> None:
    """Each stretch as a mark before its tap; an arrow under the tap that the next step looks at."""
    line, arrow = strip_lines(STRIP, 80, PLAIN_MARKS)
    assert line.plain == "=== bus --- breaker ??? ground safety ?-? up limit "
    assert arrow.plain.index("^") == line.plain.index("ground safety")


def test_a_long_strip_goes_over_two_lines() -> None:
    """Broken between two taps, the arrow under its own line."""
    lines = [line.plain for line in strip_lines(STRIP, 24, PLAIN_MARKS)]
    assert lines == ["=== bus --- breaker ", "??? ground safety ", "    ^ next", "?-? up limit "]
    assert max(map(len, lines)) <= 24


LEADS = [f"Down-lock switch, {leg}: lead of the horn contact chafed and shorted" for leg in ("left", "nose")]


def test_of_a_long_cause_the_middle_is_left_out() -> None:
    """Its leg and the last words of its mode stay, on one line."""
    assert in_one_line(LEADS, 58)[1] == "Down-lock switch, nose: lead of the ... chafed and shorted"
    assert all(len(one) <= 58 for one in in_one_line(LEADS, 58))


def test_causes_that_differ_in_the_middle_alone_are_left_whole() -> None:
    """Better two lines than two names that read the same."""
    alike = [LEADS[0], LEADS[0].replace("horn contact", "lamp contact")]
    assert in_one_line(alike, 50) == alike
    assert in_one_line(["Short: stuck"], 50) == ["Short: stuck"]


@pytest.mark.parametrize(("encoding", "marks"), [("utf-8", MARKS), ("iso8859-1", PLAIN_MARKS), ("ascii", PLAIN_MARKS)])
def test_marks_are_those_that_the_terminal_can_show(encoding: str, marks: dict[str, str]) -> None:
    """Shades where there are any, else signs that are told apart without colour; the legend names them all."""
    assert marks_for(encoding) == marks
    assert all(mark in legend(encoding) for mark in marks.values())
    assert len(set(marks.values())) == len(marks)


def test_a_terminal_of_few_signs_shows_something_like_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """An ellipsis as a dot, letters without their accent, the rest as question marks; nothing stops."""
    written = io.BytesIO()
    monkeypatch.setattr("sys.stdout", io.TextIOWrapper(written, encoding="ascii"))
    # In a session of its own: the usual one would keep this process's input for every later test.
    with create_app_session(input=DummyInput(), output=DummyOutput()):
        terminal = Terminal()
    terminal.console = Console(width=40)
    terminal.show("na\u00efve \u2026 \u2192")
    terminal.console.file.flush()
    assert written.getvalue().decode("ascii").strip() == "naive . ?"


def test_a_board_with_no_room_keeps_what_stands() -> None:
    """Each size in a small window takes fewer lines than the one before; all that stands is on the least of them."""
    standing = tuple(f"Condition number {n} of the many" for n in range(9))
    causes = tuple(CauseLine(f"Cause number {n}", 0.1, 0.0) for n in range(8))
    shown = Board(causes, 0.1, standing, None, None, where=(STRIP,), known=("Bus: dead", "Lamp: dark"))
    told = {}
    for size in (0, SHORT, TIGHT, BARE):
        console = Console(width=80, height=24, file=io.StringIO())
        console.print(BoardScreen(small_book(), shown, size))
        told[size] = console.file.getvalue()  # type: ignore[attr-defined]
    heights = [text.count("\n") for text in told.values()]
    assert heights == sorted(heights, reverse=True)
    assert heights[-1] <= heights[-2] - 3
    words = " ".join(told[BARE].split())
    assert all(f"number {n} of" in words for n in range(9))
