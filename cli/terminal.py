"""The one object that reads keys and writes screens; passed in, never global, replaced in tests."""

from __future__ import annotations

import asyncio
import codecs
import contextlib
import io
import os
import signal
import sys
import termios
import threading
import time
import unicodedata
from collections.abc import Callable, Collection, Sequence
from typing import IO, Any

from prompt_toolkit import PromptSession
from prompt_toolkit.application import Application
from prompt_toolkit.input import Input
from prompt_toolkit.input.typeahead import clear_typeahead
from prompt_toolkit.key_binding import KeyBindings
from prompt_toolkit.key_binding.key_processor import KeyPressEvent
from prompt_toolkit.output import Output
from rich.console import Console, RenderableType

from faulttree.clean import plain

from .keyline import KeyLine

WIDEST = 100
"""Lines longer than this are hard to read even where the window has room."""


Meanwhile = Callable[[Callable[[], bool]], bool]
"""Work done while a key is waited for: takes "must I stop?", returns whether the screen is to be drawn anew."""


TO_THE_TOP, TO_THE_END_OF_THE_LINE, TO_THE_BOTTOM = "\x1b[H", "\x1b[K", "\x1b[J"
"""What a new screen is written with (ECMA-48: cursor position, erase in line, erase in page)."""

STOP, ENTER, ARROWS = "c-z", "enter", ("up", "down")
UNSEEN = 0.3
"""Seconds of work after an answer from which keys pressed meanwhile are dropped: nobody had seen what they answer."""

HABIT = 0.6
"""Seconds in which an Enter behind a key that acted at once is one out of habit, and takes nothing."""

PLAINER = {"\u2026": ".", "\u2013": "-", "\u2014": "-", "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"'}
"""One sign for one, so that columns stay where they are."""


def _plainer(problem: UnicodeError) -> tuple[str, int]:
    """For terminals that cannot show a sign: one that is like it, its letter without the accent, or a question mark."""
    assert isinstance(problem, UnicodeEncodeError)
    told = problem.object[problem.start : problem.end]
    return "".join(PLAINER.get(c) or _letter(c) for c in told), problem.end


def _letter(sign: str) -> str:
    first = unicodedata.normalize("NFKD", sign)[0]
    return first if first.isascii() and first.isprintable() else "?"


codecs.register_error("plainer", _plainer)


class Terminal:
    """Input and output of the interactive commands. Colour is left out where NO_COLOR asks for it."""

    plain = False
    """Whether everything is said line by line, for a reader who hears the screen."""

    def __init__(self, input: Input | None = None, output: Output | None = None, file: IO[str] | None = None) -> None:
        if file is None and isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(errors="plainer")
        self._session: PromptSession[str] = PromptSession(input=input, output=output)
        self._keys = KeyLine(self._session.input, self._session.output)
        self._answered, self._by_key, self._by_help = time.monotonic(), False, False
        self._file = file
        self.console = self._new_console()

    def _new_console(self) -> Console:
        # What is shown may be anybody's words: no markup, no emoji codes, nothing coloured for what it looks like.
        return Console(
            file=self._file, width=None if self._file is None else 80, highlight=False, markup=False, emoji=False,
            no_color=self.plain or "NO_COLOR" in os.environ or None,
        )  # fmt: skip

    def _print(self, part: RenderableType, width: int | None = None, soft_wrap: bool | None = None) -> None:
        """One renderable. Told to end in the middle of it, a console may keep all that follows to itself: a new one."""
        try:
            self.console.print(part, width=width, soft_wrap=soft_wrap)
        except BaseException:
            self.console = self._new_console()
            raise

    @staticmethod
    def is_there() -> bool:
        """Whether a person sits at both ends."""
        return sys.stdin.isatty() and sys.stdout.isatty()

    @property
    def width(self) -> int:
        """Columns that are written to, of those that the window has just now."""
        return min(self.console.width, WIDEST)

    def show(self, *what: RenderableType) -> None:
        """Print renderables one below the other. In strings nothing acts; a Text is taken to be made inert already."""
        for part in what:
            self._print(plain(part) if isinstance(part, str) else part, width=self.width)

    def first(self, meanwhile: Meanwhile) -> bool:
        """Whether work that goes on beside a screen is done before it instead, and was news: never where it is seen."""
        return False

    def page(self, *what: RenderableType) -> None:
        """A new screen, written over the old one at one go, so that nothing flickers over a slow line."""
        if not self.console.is_terminal:
            self.show(*what)
            return
        with self.console.capture() as drawn:
            self.show(*what)
        self.console.file.write(TO_THE_TOP + drawn.get().replace("\n", TO_THE_END_OF_THE_LINE + "\n") + TO_THE_BOTTOM)
        self.console.file.flush()

    def fits(self, parts: Sequence[RenderableType]) -> bool:
        """Whether all of it stands in the window, with a line to answer on."""
        return self.height_of(parts) < self.console.height

    def height_of(self, parts: Sequence[RenderableType]) -> int:
        """The lines that parts take one below the other."""
        options = self.console.options.update(width=self.width)
        return sum(len(self.console.render_lines(part, options, pad=False)) for part in parts)

    def room_beside(self, parts: Sequence[RenderableType]) -> int:
        """The lines that the window has left beside parts and the line to answer on; below 0 where it has too few."""
        return self.console.height - 1 - self.height_of(parts)

    def pages(self, parts: Sequence[RenderableType], reserved: int) -> list[list[RenderableType]]:
        """Parts grouped so that each group fits the window with ``reserved`` lines to spare; none is split."""
        room = max(self.console.height - reserved, 1)
        options = self.console.options.update(width=self.width)
        pages: list[list[RenderableType]] = []
        used = room + 1
        for part in parts:
            height = len(self.console.render_lines(part, options, pad=False))
            if used + height > room:
                pages.append([])
                used = 0
            pages[-1].append(part)
            used += height
        return pages

    def line(
        self,
        label: str,
        meanwhile: Meanwhile | None = None,
        redraw: Callable[[], None] | None = None,
        at_once: Collection[str] = (),
    ) -> str:
        """A line of words; ``meanwhile`` is done beside the typing, ``redraw`` when the window changes its size.

        With nothing typed yet `?` and the keys ``at_once`` are the answer without an Enter. Raises KeyboardInterrupt
        and EOFError as typed.
        """
        over = threading.Event()
        beside = None if meanwhile is None else threading.Thread(target=meanwhile, args=[over.is_set])
        sized, typed = _Sized(self._session.app), ""
        stopping, keys = _stopping({"?", *at_once})
        # As elsewhere a key may have been pressed with Enter behind it, out of habit; that Enter has seen nothing yet.
        habit = (self._by_help or (at_once and self._by_key)) and self._is_keyboard()
        keys.add("enter")(_enter(self._answered + HABIT if habit else 0.0))
        try:
            while True:
                begin = beside.start if beside is not None and beside.ident is None else None
                typed = self._session.prompt(label, default=typed, pre_run=begin, key_bindings=keys)
                if stopping.is_set():
                    stopping.clear()
                    _go_to_sleep()
                elif not sized.changed:
                    self._by_help = typed == "?"
                    self._by_key = typed in ("?", *at_once)
                    return typed
                if redraw is not None:
                    redraw()
                sized.look_again()
        finally:
            sized.end()
            self._answered = time.monotonic()
            over.set()
            if beside is not None and beside.ident is not None:
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
        """One of ``keys``, taken as soon as it is pressed. Enter gives ``enter`` if that is set.

        What is to be ``read_first`` is not answered by a key that was pressed before it stood there.

        ``meanwhile`` runs beside it until it is done or a key is pressed, whichever comes first. If it returns True
        before any key, the answer is None. ``redraw`` is called when the window changes its size.
        """
        if read_first or time.monotonic() - self._answered > UNSEEN:
            self._forget_keys()
        # Who answers with a key and Enter, as elsewhere, has not seen what Enter would take on the next screen.
        enter_at = self._answered + (HABIT if self._by_key else UNSEEN) if self._is_keyboard() else 0.0
        bindings = KeyBindings()
        for key in keys:
            bindings.add(key)(_exit_with(key))
        bindings.add("enter")(_exit_with(ENTER, enter_at) if enter is not None else _ignore)
        bindings.add("c-z")(_exit_with(STOP))
        said = _Unknown(label)
        bindings.add("<any>")(said.press)
        while True:
            sized = _Sized(self._keys.app)
            beside = None if meanwhile is None else _Beside(self._keys.app, meanwhile)
            try:
                pressed = self._keys.ask(said.label, bindings, None if beside is None else beside.start)
            finally:
                sized.end()
                if beside is not None:
                    beside.end()
                self._answered = time.monotonic()
            self._by_key, self._by_help = pressed in keys and pressed not in ARROWS, False
            if pressed == STOP:
                _go_to_sleep()
            elif not sized.changed:
                return enter if pressed == ENTER else pressed
            if redraw is not None:
                redraw()

    def _forget_keys(self) -> None:
        """Drop what was pressed while the program worked: it was meant for a screen that was still to come."""
        if self._is_keyboard():
            termios.tcflush(self._session.input.fileno(), termios.TCIFLUSH)
            clear_typeahead(self._session.input)

    def _is_keyboard(self) -> bool:
        """Whether somebody presses keys, and not a file that gives them all at once."""
        # What is no file at all (a pipe of the tests, input that is switched off) says so in one of these ways.
        with contextlib.suppress(OSError, NotImplementedError, io.UnsupportedOperation):
            return os.isatty(self._session.input.fileno())
        return False


def _go_to_sleep() -> None:
    """Stop as Control-Z asks; the shell wakes the program again, and what was on the screen is drawn anew."""
    os.kill(0, signal.SIGTSTP)


def _stopping(at_once: Collection[str]) -> tuple[threading.Event, KeyBindings]:
    """Keys of a line of words, and what Control-Z sets; the words typed so far are the line's answer then."""
    asked, keys = threading.Event(), KeyBindings()
    for key in at_once:
        keys.add(key)(_at_once(key))
    keys.add("tab")(lambda event: event.current_buffer.insert_text(" "))

    @keys.add("c-z")
    def stop(event: KeyPressEvent) -> None:
        asked.set()
        event.app.exit(result=event.current_buffer.text)

    return asked, keys


def _at_once(key: str) -> Callable[[KeyPressEvent], None]:
    """With nothing typed yet the key is the answer, as everywhere; later it is a letter like any other."""

    def press(event: KeyPressEvent) -> None:
        if event.current_buffer.text:
            event.current_buffer.insert_text(key)
        else:
            event.app.exit(result=key)

    return press


def _enter(open_at: float) -> Callable[[KeyPressEvent], None]:
    """Enter alone takes nothing before ``open_at``; behind words it always ends the line."""

    def press(event: KeyPressEvent) -> None:
        if event.current_buffer.text or time.monotonic() >= open_at:
            event.current_buffer.validate_and_handle()

    return press


class _Sized:
    """Ends a prompt when the window has changed its size, so that what stands above it can be drawn anew."""

    def __init__(self, app: Application[Any]) -> None:
        self._app = app
        self.look_again()
        app.before_render += self._look

    def look_again(self) -> None:
        """From the size that the window has now."""
        self._size, self.changed = self._app.output.get_size(), False

    def end(self) -> None:
        """Look no more."""
        self._app.before_render -= self._look

    def _look(self, app: Application[Any]) -> None:
        if app.output.get_size() != self._size and app.is_running and not app.is_done:
            self.changed = True
            app.exit(result=app.current_buffer.text)


class _Beside:
    """Work in a thread of its own beside a prompt. It is over before the prompt's answer is used."""

    def __init__(self, app: Application[str | None], work: Meanwhile) -> None:
        self._app, self._work = app, work
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run)

    def start(self) -> None:
        """Begin, once the prompt is on the screen."""
        self._loop = asyncio.get_running_loop()
        self._thread.start()

    def end(self) -> None:
        """Tell the work to stop and wait for it."""
        self._stop.set()
        if self._thread.ident is not None:
            self._thread.join()

    def _run(self) -> None:
        if self._work(self._stop.is_set):
            # The loop may be gone by now: then a key was pressed and nobody waits for this.
            with contextlib.suppress(RuntimeError):
                self._loop.call_soon_threadsafe(self._leave)

    def _leave(self) -> None:
        app = self._app
        if app.is_running and not app.is_done:
            app.exit(result=None)


def _exit_with(key: str, open_at: float = 0.0) -> Callable[[KeyPressEvent], None]:
    def leave(event: KeyPressEvent) -> None:
        if time.monotonic() >= open_at:
            event.app.exit(result=key)

    return leave


def _ignore(event: KeyPressEvent) -> None:
    """Keys that mean nothing here do nothing."""


class _Unknown:
    """Says of a key that it means nothing here, on the line on which a key is waited for."""

    def __init__(self, label: str) -> None:
        self._label, self._said = label, ""

    def label(self) -> str:
        """What stands on that line."""
        return f"{self._label}{self._said}"

    def press(self, event: KeyPressEvent) -> None:
        """A key that means nothing; arrows and the like are passed over in silence."""
        key = event.data
        self._said = f"{key} is no key here; ? helps " if len(key) == 1 and key.isprintable() and key.strip() else ""
