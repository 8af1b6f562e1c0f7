"""What a window does: it changes its size, arrow keys wander, a terminal that cannot draw is told line by line."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest

from faulttree_cli.plain_terminal import PlainTerminal
from tests.support.window import Window
from tests.terminal.test_screens import environment

TO_THE_BOARD = [
    ("n", "Registration"), ("QQ-ELM\r", "What drives the gear"), ("3", "What did the pilot say"),
    ("wheels wont come up\r", "Gear stays down?"), ("y", "Anything else?"), ("\r", "emergency means?"),
    ("2", "known to be locked"), ("1", "Which of these apply"), ("\r", "flight hours"), ("\r", "8 times in 10"),
]  # fmt: skip


def walk(window: Window, keys: list[tuple[str, str]]) -> str:
    text = window.until("a new squawk")
    for pressed, words in keys:
        window.press(pressed)
        text = window.until(words)
    return text


@pytest.fixture(scope="module")
def at_the_board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Window]:
    """A window at the main screen. Each test leaves it there."""
    with Window([], environment(tmp_path_factory.mktemp("window")), 120, 40) as window:
        walk(window, TO_THE_BOARD)
        yield window


def sized(window: Window, columns: int, lines: int) -> str:
    window.resize(columns, lines)
    return window.until("Was the motor heard")


def test_a_window_made_smaller_is_drawn_anew(at_the_board: Window) -> None:
    """The screen fits the new size, with its last line the one that waits for a key."""
    wide, small = sized(at_the_board, 120, 40), sized(at_the_board, 80, 24)
    assert max(map(len, wide.splitlines())) > 80
    assert small.splitlines()[-1] == ">"
    assert small.startswith("2026-01-01-1")


def test_what_a_window_has_no_room_for_comes_page_by_page(at_the_board: Window) -> None:
    """In fourteen lines why is told in parts, each with its head; the last has the outcomes."""
    sized(at_the_board, 80, 14)
    at_the_board.press("w")
    first = at_the_board.until("y read on")
    at_the_board.press("y")
    last = at_the_board.until("It hummed, about")
    at_the_board.press("b")
    at_the_board.until("Was the motor heard")
    assert first.startswith("2026-01-01-1")
    assert "It hummed, about" not in first
    assert last.splitlines()[-1] == ">"


@pytest.mark.parametrize("lines", [11, 12, 13])
def test_a_list_without_room_has_entries_on_each_screen(at_the_board: Window, lines: int) -> None:
    """Its keys are taken where they stand; what tells of it stands above its beginning alone."""
    sized(at_the_board, 80, lines)
    at_the_board.press("o")
    first = at_the_board.until("b back")
    last = first
    while "y read on" in last:
        at_the_board.press("y")
        last = at_the_board.until("Mend the lead" if "Mend the lead" not in last else "6 Call in a specialist")
    at_the_board.press("b")
    sized(at_the_board, 120, 40)
    assert "  1 Motor heard" in first
    assert "y read on" in first
    assert "The best first" in first
    assert "The best first" not in last
    assert "  6 Call in a specialist" in last


def test_enter_alone_answers_no_question(at_the_board: Window) -> None:
    """The thumb that hits it by itself must not say what the pilot saw."""
    sized(at_the_board, 80, 24)
    at_the_board.press("\r")
    at_the_board.press("w")
    shown = at_the_board.until("Why this step")
    at_the_board.press("b")
    at_the_board.until("8 times in 10")
    assert "Why this step: Motor heard" in shown


def test_a_key_that_means_nothing_is_named(at_the_board: Window) -> None:
    """On the line that waits for one, until the next key."""
    sized(at_the_board, 80, 24)
    at_the_board.press("Z")
    shown = at_the_board.until("> Z is no key here; ? helps")
    at_the_board.press("w")
    at_the_board.until("Why this step")
    at_the_board.press("b")
    at_the_board.until("8 times in 10")
    assert "no key here" in shown.splitlines()[-1]


def test_arrows_and_enter_choose(at_the_board: Window) -> None:
    """Down marks the first answer, down again the second, Enter takes it; u takes it back."""
    sized(at_the_board, 80, 24)
    at_the_board.press("\x1b[B")
    at_the_board.until("> 1 It hummed")
    at_the_board.press("\x1b[B")
    at_the_board.until("> 2 Silence")
    at_the_board.press("\r")
    shown = at_the_board.until("do this next")
    at_the_board.press("u")
    at_the_board.until("Was the motor heard")
    assert "Motor heard: Silence" in shown


def test_words_typed_stay_when_the_window_changes(tmp_path: Path) -> None:
    """Half a squawk is still there, and is taken whole."""
    with Window([], environment(tmp_path), 120, 40) as window:
        walk(window, TO_THE_BOARD[:3])
        window.press("wheels wont")
        window.until("> wheels wont")
        window.resize(80, 24)
        window.until("> wheels wont")
        window.press(" come up\r")
        assert "wheels wont come up" in window.until("Gear stays down?")


def test_a_dumb_terminal_is_told_line_by_line(tmp_path: Path) -> None:
    """Nothing is drawn over: no escape sequence at all, and the whole course stands there."""
    with Window([], {**environment(tmp_path), "TERM": "dumb"}, 100, 200) as window:
        text = walk(window, [(f"{keys.rstrip()}\r", words) for keys, words in TO_THE_BOARD])
    assert "What drives the gear" in text
    assert "Was the motor heard" in text


def test_a_plain_terminal_asks_again_for_what_means_nothing() -> None:
    """It names the keys that do."""
    told = io.StringIO()
    assert PlainTerminal(io.StringIO("z\n\ny\n"), told).key("> ", ["y", "n"]) == "y"
    assert "Type one of y n" in told.getvalue()
