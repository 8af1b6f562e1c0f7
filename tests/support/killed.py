"""A process that works a case and can be killed at any moment, and what it told by then."""

from __future__ import annotations

import faulthandler
import os
import pty
import select
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from unittest.mock import patch

from faulttree_cli.main import main
from tests.support.mechanic import Following, Mechanic, Shown, Telling, Watched, work

LONGEST = 30.0
"""Seconds after which a process that shows nothing any more hangs."""

PRESS_AGAIN = 0.45
"""Seconds until a key that nothing came of is pressed again: just after a screen was redrawn none is taken."""


@dataclass
class Told:
    """What a process had shown when it ended: its prompts, with the seconds since its start; ``keys`` sent to it."""

    prompts: list[Shown] = field(default_factory=list)
    at: list[float] = field(default_factory=list)
    keys: int = 0
    sent_at: float = 0.0
    """Seconds since the start at which the last key was sent."""
    killed_at: float | None = None

    @property
    def between(self) -> bool:
        """Whether it was killed between a key and the prompt that follows."""
        return self.killed_at is not None and self.keys > 0 and self.keys >= len(self.prompts)

    @property
    def acknowledged(self) -> Shown | None:
        """The last prompt of a case that was seen: all it knew to be kept was acknowledged."""
        return next((shown for shown in reversed(self.prompts) if shown.name), None)


Moment = Callable[[Told, float, bool], float]
"""Seconds until it is time to kill, as far as is known by now; by what was told, the seconds since the start, and
whether an answer is being worked on."""

NOT_YET = 1.0
LONGEST_WAIT = 0.05
SHORTEST_WAIT = 0.0005
"""Seconds below which a process that waits comes back too late."""


class Child:
    """A fork of this process, warmed up, that works one case by the keys sent to it.

    With ``on_terminal`` the whole command runs on a pseudo-terminal; else its loop, with keys from a pipe.
    """

    def __init__(self, more: Path, on_terminal: bool = False) -> None:
        self.heard, telling = os.pipe()
        self.on_terminal = on_terminal
        taking, self.typing = os.pipe()
        self._doing = tempfile.TemporaryFile()  # noqa: SIM115  # closed at the end
        with warnings.catch_warnings():
            # Threads that the numeric libraries keep do nothing here.
            warnings.simplefilter("ignore", DeprecationWarning)
            self.pid, master = pty.fork() if on_terminal else (os.fork(), -1)
        if self.pid == 0:
            faulthandler.register(signal.SIGUSR1, self._doing)
            _be_the_child(more, telling, taking, on_terminal)
        os.close(telling)
        os.close(taking)
        if on_terminal:
            os.close(self.typing)
            self.typing = master
        self._rest = b""
        self.start = time.perf_counter()

    def run(self, mechanic: Mechanic, moment: Moment) -> Told:
        """Answer each prompt until the moment has come or the case ends; the process is gone afterwards."""
        told = Told()
        try:
            while True:
                now = time.perf_counter() - self.start
                wait = moment(told, now, told.keys >= len(told.prompts) > 0)
                if wait <= 0:
                    told.killed_at = now
                    break
                if not self._hear(told, min(wait, LONGEST_WAIT) if wait > SHORTEST_WAIT else 0.0):
                    break
                self._type(mechanic, told)
                if time.perf_counter() - self.start >= LONGEST:
                    raise AssertionError(f"hangs after {told.prompts[-1:]}, keys {told.keys}, in\n{self._hangs_in()}")
        except BaseException:
            told.killed_at = time.perf_counter() - self.start
            raise
        finally:
            self._end(told)
        return told

    def _type(self, mechanic: Mechanic, told: Told) -> None:
        now = time.perf_counter() - self.start
        again = self.on_terminal and told.keys == len(told.prompts) and now - told.sent_at > PRESS_AGAIN
        if told.prompts and (told.keys < len(told.prompts) or again):
            shown = told.prompts[-1]
            end = b"" if shown.keys else b"\r" if self.on_terminal else b"\n"
            told.keys = len(told.prompts)
            told.sent_at = now
            try:
                os.write(self.typing, mechanic.answer(shown).encode() + end)
            except OSError:
                return  # it has ended

    def _hear(self, told: Told, seconds: float) -> bool:
        """Take what was told; False where the process has closed its end."""
        ends = [self.heard, *([self.typing] if self.on_terminal else [])]
        ready, _, _ = select.select(ends, [], [], seconds)
        if self.on_terminal and self.typing in ready:
            try:
                os.read(self.typing, 65536)
            except OSError:
                # The terminal is gone with its process; what was told before is still in the pipe.
                return self._listen(told)
        return self._listen(told) if self.heard in ready else True

    def _listen(self, told: Told) -> bool:
        got = os.read(self.heard, 65536)
        *lines, self._rest = (self._rest + got).split(b"\n")
        told.prompts += map(Shown.unpacked, lines)
        told.at += [time.perf_counter() - self.start] * len(lines)
        return bool(got)

    def _hangs_in(self) -> str:
        """Where each of its threads is just now."""
        os.kill(self.pid, signal.SIGUSR1)
        time.sleep(0.5)
        self._doing.seek(0)
        return self._doing.read().decode()

    def _end(self, told: Told) -> None:
        if told.killed_at is not None:
            os.kill(self.pid, signal.SIGKILL)
        _, status = os.waitpid(self.pid, 0)
        while self._listen(told):
            pass
        os.close(self.heard)
        os.close(self.typing)
        self._doing.close()
        assert told.killed_at is not None or status == 0, f"ended by itself with {status} after {told.prompts[-1:]}"


def _be_the_child(more: Path, telling: int, taking: int, on_terminal: bool) -> None:
    """Works the case; never returns."""
    status = 3
    try:
        if on_terminal:
            status = _command(more, telling)
        else:

            def ask(shown: Shown) -> str:
                os.write(telling, shown.packed())
                if shown.keys:
                    return os.read(taking, 1).decode()
                line = b""
                while not line.endswith(b"\n"):
                    line += os.read(taking, 1)
                return line.decode().rstrip("\n")

            work(more, Following(ask))
            status = 0
    finally:
        os._exit(status)


def _command(more: Path, telling: int) -> int:
    """The command as it is typed; standard input and output are the terminal."""
    os.environ["PROMPT_TOOLKIT_NO_CPR"] = "1"  # nobody here answers where the cursor is
    os.environ["TERM"] = "xterm"
    sys.stdin, sys.stdout = os.fdopen(0), os.fdopen(1, "w")

    class Here(Telling):
        def __init__(self) -> None:
            super().__init__(lambda shown: os.write(telling, shown.packed()))

    with patch.multiple("faulttree_cli.worker", open_terminal=lambda plain: Here(), Worker=Watched):
        return main(["work", "--family", "made-up", "--knowledge", str(more)])


# -- when ----------------------------------------------------------------------------------------------


def anytime(seconds: float) -> Moment:
    """At a moment after the start, whatever goes on."""
    return lambda told, now, answering: seconds - now


def after_key(number: int, delay: float) -> Moment:
    """So many seconds after a key was sent, whether or not the next prompt has appeared by then."""
    return lambda told, now, answering: delay - (now - told.sent_at) if told.keys >= number else NOT_YET


class WithinWrite:
    """While the journal of the database lies there after a key, plus so many seconds: within a write."""

    def __init__(self, journal: Path, number: int, delay: float) -> None:
        self.journal, self.number, self.delay = journal, number, delay
        self.seen: float | None = None

    def __call__(self, told: Told, now: float, answering: bool) -> float:
        if self.seen is None:
            if told.keys < self.number or not answering:
                return NOT_YET
            if not self.journal.exists():
                return SHORTEST_WAIT
            self.seen = time.perf_counter()
        return self.delay - (time.perf_counter() - self.seen)


def undisturbed(more: Path, random: Random, on_terminal: bool) -> Told:
    """A case to its end, by which moments are chosen."""
    return Child(more, on_terminal).run(Mechanic(random), lambda told, now, answering: NOT_YET)
