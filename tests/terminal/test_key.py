"""Waiting for a key while something is worked out beside it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput

from faulttree_cli import terminal as terminal_module
from faulttree_cli.terminal import Meanwhile, Terminal


def press(keys: str, meanwhile: Meanwhile) -> str | None:
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_text(keys)
        return Terminal(pipe, DummyOutput()).key("> ", ["y"], None, meanwhile)


def test_what_is_done_first_ends_the_waiting() -> None:
    """Without a key the work beside it says that the screen is to be drawn anew."""
    assert press("", lambda stop: True) is None


def test_a_key_ends_the_work() -> None:
    """A key pressed meanwhile is the answer, and the work has been told to stop and is over."""
    over: list[bool] = []

    def work(stop: Callable[[], bool]) -> bool:
        while not stop():
            threading.Event().wait(0.001)
        over.append(True)
        return False

    assert press("y", work) == "y"
    assert over == [True]


def test_work_without_news_leaves_the_prompt_alone() -> None:
    """If nothing better was found the key is waited for as before."""
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        assert Terminal(pipe, DummyOutput()).key("> ", ["y"], None, _then_type(pipe)) == "y"


def _then_type(pipe: PipeInput) -> Meanwhile:
    def work(stop: Callable[[], bool]) -> bool:
        pipe.send_text("y")
        return False

    return work


def line(keys: str, at_once: Sequence[str] = ()) -> str:
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_text(keys)
        return Terminal(pipe, DummyOutput()).line("> ", at_once=at_once)


@pytest.mark.parametrize(
    ("keys", "taken"), [("?", "?"), ("<", "<"), ("a?<\r", "a?<"), ("clip\tworn\r", "clip worn"), ("\r", "")]
)
def test_a_key_answers_a_line_at_once_while_nothing_is_typed(keys: str, taken: str) -> None:
    """Later it is a letter like any other, and a tab is a space."""
    assert line(keys, ["<"]) == taken


@pytest.mark.parametrize(("keys", "taken"), [("?\rplug\r", "plug"), ("?plug\r", "plug")])
def test_an_enter_right_behind_a_key_takes_nothing(monkeypatch: pytest.MonkeyPatch, keys: str, taken: str) -> None:
    """Whoever ends a key with Enter has not seen what Enter takes on the next screen; behind words it counts."""
    monkeypatch.setattr(Terminal, "_is_keyboard", lambda self: True)
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        terminal = Terminal(pipe, DummyOutput())
        pipe.send_text(keys)
        assert terminal.line("> ") == "?"
        assert terminal.line("> ") == taken


@contextmanager
def somebody_types(monkeypatch: pytest.MonkeyPatch, keys: str) -> Iterator[Terminal]:
    """A keyboard whose every Enter comes right behind the key before it, as out of habit."""
    monkeypatch.setattr(Terminal, "_is_keyboard", lambda self: True)
    monkeypatch.setattr(Terminal, "_forget_keys", lambda self: None)
    monkeypatch.setattr(terminal_module, "HABIT", 60.0)
    monkeypatch.setattr(terminal_module, "UNSEEN", 0.0)
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_text(keys)
        yield Terminal(pipe, DummyOutput())


@pytest.mark.parametrize(("first", "taken"), [("n", "q"), ("\r", "y")])
def test_an_enter_right_behind_a_letter_takes_nothing_on_the_next_screen(
    monkeypatch: pytest.MonkeyPatch, first: str, taken: str
) -> None:
    """Neither goes on with it nor leaves a list; behind an Enter the next one counts at once."""
    with somebody_types(monkeypatch, first + "\rq\r") as terminal:
        terminal.key("> ", ["y", "n"], "y")
        assert terminal.key("> ", ["y", "q"], "y") == taken


@pytest.mark.parametrize(("first", "taken"), [("n", "plug"), ("\r", "")])
def test_an_enter_right_behind_a_letter_does_not_leave_a_list(
    monkeypatch: pytest.MonkeyPatch, first: str, taken: str
) -> None:
    """The list that the letter opened stays."""
    with somebody_types(monkeypatch, first + "\rplug\r") as terminal:
        terminal.key("> ", ["y", "n"], "y")
        assert terminal.line("> ", at_once=["?"]) == taken
