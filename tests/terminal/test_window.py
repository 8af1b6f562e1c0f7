"""What a window does: it changes its size, arrow keys wander, a terminal that cannot draw is told line by line."""

from __future__ import annotations

import io
from pathlib import Path

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


def test_a_window_made_smaller_is_drawn_anew(tmp_path: Path) -> None:
    """The screen fits the new size, with its last line the one that waits for a key, and the work goes on."""
    with Window([], environment(tmp_path), 120, 40) as window:
        wide = walk(window, TO_THE_BOARD)
        window.resize(80, 24)
        small = window.until("8 times in 10")
        window.press("w")
        window.until("Why this step")
    assert max(map(len, wide.splitlines())) > 80
    assert small.splitlines()[-1] == ">"
    assert small.startswith("2026-01-01-1")


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


def test_arrows_and_enter_choose(tmp_path: Path) -> None:
    """Down marks the first answer, down again the second, Enter takes it."""
    with Window([], environment(tmp_path)) as window:
        walk(window, TO_THE_BOARD)
        window.press("\x1b[B")
        assert "> 1 It hummed" in window.until("> 1")
        window.press("\x1b[B")
        window.until("> 2 Silence")
        window.press("\r")
        assert "Motor heard: Silence" in window.until("do this next")


def test_enter_alone_answers_no_question(tmp_path: Path) -> None:
    """The thumb that hits it by itself must not say what the pilot saw."""
    with Window([], environment(tmp_path)) as window:
        walk(window, TO_THE_BOARD)
        window.press("\r")
        window.press("w")
        assert "Motor heard" in window.until("Why this step")


def test_what_a_window_has_no_room_for_comes_page_by_page(tmp_path: Path) -> None:
    """In twelve lines why is told in parts, each with its head; the last has the outcomes."""
    with Window([], environment(tmp_path), 80, 24) as window:
        walk(window, TO_THE_BOARD)
        window.press("w")
        window.until("Why this step")
        window.press("b")
        window.until("8 times in 10")
        window.resize(80, 14)
        window.until("Was the motor heard")
        window.press("w")
        first = window.until("y read on")
        window.press("y")
        last = window.until("It hummed, about")
    assert first.startswith("2026-01-01-1")
    assert "It hummed, about" not in first
    assert last.splitlines()[-1] == ">"


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
