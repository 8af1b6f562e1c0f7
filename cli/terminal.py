"""The one object that reads keys and writes screens; passed in, never global, replaced in tests."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Collection, Sequence
from typing import IO

from prompt_toolkit import PromptSession
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyBindings
from prompt_toolkit.key_binding.key_processor import KeyPressEvent
from prompt_toolkit.output import Output
from rich.console import Console, RenderableType

WIDEST = 100
"""Lines longer than this are hard to read even where the window has room."""


class Terminal:
    """Input and output of the interactive commands. Colour is left out where NO_COLOR asks for it."""

    def __init__(self, input: Input | None = None, output: Output | None = None, file: IO[str] | None = None) -> None:
        self._session: PromptSession[str] = PromptSession(input=input, output=output)
        width = None if file is None else 80
        self.console = Console(file=file, width=width, highlight=False, no_color="NO_COLOR" in os.environ or None)
        if self.console.width > WIDEST:
            self.console.width = WIDEST

    @staticmethod
    def is_there() -> bool:
        """Whether a person sits at both ends."""
        return sys.stdin.isatty() and sys.stdout.isatty()

    def show(self, *what: RenderableType) -> None:
        """Print renderables one below the other."""
        for part in what:
            self.console.print(part)

    def pages(self, parts: Sequence[RenderableType], reserved: int) -> list[list[RenderableType]]:
        """Parts grouped so that each group fits the window with ``reserved`` lines to spare; none is split."""
        room = max(self.console.height - reserved, 1)
        pages: list[list[RenderableType]] = []
        used = room + 1
        for part in parts:
            height = len(self.console.render_lines(part, pad=False))
            if used + height > room:
                pages.append([])
                used = 0
            pages[-1].append(part)
            used += height
        return pages

    def clear(self) -> None:
        """Start a new screen."""
        self.console.clear()

    def line(self, label: str) -> str:
        """A line of words. Raises KeyboardInterrupt and EOFError as typed."""
        return self._session.prompt(label)

    def key(self, label: str, keys: Collection[str], enter: str | None = None) -> str:
        """One of ``keys``, taken as soon as it is pressed. Enter gives ``enter`` if that is set."""
        bindings = KeyBindings()
        for key in keys:
            bindings.add(key)(_exit_with(key))
        bindings.add("enter")(_exit_with(enter) if enter is not None else _ignore)
        bindings.add("<any>")(_ignore)
        return PromptSession[str](input=self._session.input, output=self._session.output, key_bindings=bindings).prompt(
            label
        )


def _exit_with(key: str) -> Callable[[KeyPressEvent], None]:
    def leave(event: KeyPressEvent) -> None:
        event.app.exit(result=key)

    return leave


def _ignore(event: KeyPressEvent) -> None:
    """Keys that mean nothing here do nothing."""
