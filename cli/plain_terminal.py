"""A terminal for readers who hear the screen, and for lines that come through a pipe: nothing is drawn over, one line
after the other, every answer a line of its own."""

from __future__ import annotations

import io
import os
import sys
import threading
from collections.abc import Callable, Collection, Sequence
from typing import IO

from prompt_toolkit.input import DummyInput
from prompt_toolkit.output import DummyOutput
from rich.console import RenderableType

from faulttree.clean import plain
from faulttree.errors import FaulttreeError

from . import writing
from .terminal import Meanwhile, Terminal

PATIENCE = 5.0
"""Seconds for which steps are played through before a screen is told; what takes longer goes by the quick choice."""


def open_terminal(plain: bool) -> Terminal:
    """The terminal that is asked for, or that is there: one that cannot draw is written to line by line.

    Raises FaulttreeError where nobody sits at it and lines were not asked for.
    """
    if plain or (Terminal.is_there() and os.environ.get("TERM", "dumb") == "dumb"):
        return PlainTerminal()
    if not Terminal.is_there():
        raise FaulttreeError(
            "this needs a terminal; `--plain` takes answers from lines, `faulttree rank` asks for nothing at all"
        )
    return Terminal()


class PlainTerminal(Terminal):
    """Lines in, lines out. Raises EOFError where the lines end."""

    plain = True

    def __init__(self, lines: IO[str] | None = None, file: IO[str] | None = None) -> None:
        super().__init__(DummyInput(), DummyOutput(), file)
        if lines is None and isinstance(sys.stdin, io.TextIOWrapper):
            # Bytes that are no text are taken down as they are: they must not cost an answer.
            sys.stdin.reconfigure(errors="backslashreplace")
        self._lines, self._told = sys.stdin if lines is None else lines, False

    def show(self, *what: RenderableType) -> None:
        """In a window sentences are broken at words; elsewhere whoever reads them has a width of their own."""
        wide = writing.window_width(self.console.file)
        for part in what:
            if isinstance(part, str):
                told = plain(part)
                self._print(writing.at_words(told, wide) if wide else told, soft_wrap=True)
            else:
                self._print(part)

    def page(self, *what: RenderableType) -> None:
        """Below what was said before, after an empty line."""
        self.show("", *what)

    def pages(self, parts: Sequence[RenderableType], reserved: int) -> list[list[RenderableType]]:
        """All on one page: what is heard does not scroll away."""
        return [list(parts)] if parts else []

    def fits(self, parts: Sequence[RenderableType]) -> bool:
        """Always: there is no window."""
        return True

    def line(
        self,
        label: str,
        meanwhile: Meanwhile | None = None,
        redraw: Callable[[], None] | None = None,
        at_once: Collection[str] = (),
    ) -> str:
        """The next line; ``meanwhile`` is done beside the waiting for it."""
        if meanwhile is None:
            return self._next(label)
        over = threading.Event()
        beside = threading.Thread(target=meanwhile, args=[over.is_set])
        beside.start()
        try:
            return self._next(label)
        finally:
            over.set()
            beside.join()

    def key(
        self,
        label: str,
        keys: Collection[str],
        enter: str | None = None,
        meanwhile: Meanwhile | None = None,
        redraw: Callable[[], None] | None = None,
        read_first: bool = False,
    ) -> str | None:
        """One of ``keys`` on a line of its own; an empty line gives ``enter``, anything else is asked again.

        Nothing is done beside it: what was said is not replaced afterwards (see :meth:`first`).
        """
        single = [key for key in keys if len(key) == 1]
        if not self._told:
            self.show("Every answer is a line of its own: type the letter or number, then Enter.")
            self._told = True
        while True:
            typed = self._next(label).strip()
            if typed in single:
                return typed
            if not typed and enter is not None:
                return enter
            self.show(f"Type one of {' '.join(single)}, then Enter.")

    def first(self, meanwhile: Meanwhile) -> bool:
        """The work that elsewhere goes on beside a screen, for a few seconds at most; whether it was news."""
        stop, news = threading.Event(), [False]

        def work() -> None:
            news[0] = meanwhile(stop.is_set)

        beside = threading.Thread(target=work)
        beside.start()
        beside.join(PATIENCE)
        stop.set()
        beside.join()
        return news[0]

    def _next(self, label: str) -> str:
        self.console.file.write(label)
        self.console.file.flush()
        line = self._lines.readline()
        if not line:
            raise EOFError
        return line.rstrip("\n")
