"""The command in a window of its own: a pseudo-terminal of a given size, and what stands in it, as a person sees it."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
import warnings
from collections.abc import Mapping
from types import TracebackType

import pyte

QUIET, LONGEST = 0.12, 30.0
"""Seconds without a sign after which a screen is taken to be whole; after so many seconds in all the program hangs."""

PRESS_AGAIN = 0.45
"""Seconds until a key that nothing came of is pressed again: just after a screen was redrawn none is taken."""

PROGRAM = "import sys; from faulttree_cli.main import main; sys.exit(main(sys.argv[1:]))"


class Window:
    """A window with the command in it; ``columns`` and ``lines`` can be changed while it runs."""

    def __init__(self, words: list[str], environment: Mapping[str, str], columns: int = 80, lines: int = 24) -> None:
        self.screen = pyte.Screen(columns, lines)
        self._stream = pyte.ByteStream(self.screen)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # of forking beside threads: the child execs at once
            self._pid, self.descriptor = pty.fork()
        if self._pid == 0:
            os.execve(sys.executable, [sys.executable, "-c", PROGRAM, *words], {**os.environ, **environment})
        self.resize(columns, lines)
        self._pressed, self._before = "", self._state()

    def __enter__(self) -> Window:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.descriptor >= 0:
            os.close(self.descriptor)
        if self._pid:
            os.kill(self._pid, signal.SIGKILL)
            os.waitpid(self._pid, 0)

    def end(self, number: int) -> tuple[int, str, bool]:
        """Send a signal: the status that the program ends with (negative: by the signal itself), what stands in the
        window then, and whether typing shows again there."""
        os.kill(self._pid, number)
        self._drain()
        shows = bool(termios.tcgetattr(self.descriptor)[3] & termios.ECHO)
        return self._status(), self.text(), shows

    def hang_up(self) -> int:
        """Close the window; the status that the program ends with."""
        os.close(self.descriptor)
        self.descriptor = -1
        return self._status()

    def _drain(self) -> None:
        """Take what is said until the program has ended."""
        end = time.monotonic() + LONGEST
        while time.monotonic() < end and os.waitid(os.P_PID, self._pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None:
            if select.select([self.descriptor], [], [], 0.02)[0]:
                with contextlib.suppress(OSError):
                    self.draw(os.read(self.descriptor, 65536))
        with contextlib.suppress(OSError):
            while select.select([self.descriptor], [], [], 0)[0]:
                self.draw(os.read(self.descriptor, 65536))

    def _status(self) -> int:
        end = time.monotonic() + LONGEST
        while time.monotonic() < end:
            done, status = os.waitpid(self._pid, os.WNOHANG)
            if done:
                self._pid = 0
                return os.waitstatus_to_exitcode(status)
            select.select([], [], [], 0.02)
        raise AssertionError("the program goes on and on")

    def resize(self, columns: int, lines: int) -> None:
        """Pull the window to another size."""
        fcntl.ioctl(self.descriptor, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        self.screen.resize(lines, columns)

    def press(self, keys: str) -> None:
        """Type keys."""
        self._pressed, self._before = keys, self._state()
        os.write(self.descriptor, keys.encode())

    def enter(self, words: str) -> None:
        """Type words on a line that waits for them, and Enter: once, for a line takes what was typed too early too."""
        self._pressed = ""
        os.write(self.descriptor, f"{words}\r".encode())

    def _state(self) -> tuple[str, int]:
        return self.text(), self.screen.cursor.y

    def until(self, words: str) -> str:
        """What stands in the window once ``words`` are there and nothing more comes. Raises AssertionError."""
        end, last = time.monotonic() + LONGEST, time.monotonic()
        while time.monotonic() < end:
            if select.select([self.descriptor], [], [], 0.05)[0]:
                try:
                    self.draw(os.read(self.descriptor, 65536))
                except OSError:  # the program is over
                    break
                last = time.monotonic()
            elif words in self.text() and self._waits(words) and time.monotonic() - last > QUIET:
                break
            elif self._pressed and time.monotonic() - last > PRESS_AGAIN and self._state() == self._before:
                os.write(self.descriptor, self._pressed.encode())
                last = time.monotonic()
        assert words in self.text(), f"{words!r} is not in the window:\n{self.text()}"
        return self.text()

    def _waits(self, words: str) -> bool:
        """Whether something is asked on the last line."""
        last = self.text().rstrip().rpartition("\n")[2]
        return last.startswith(">") or words in last

    def draw(self, drawn: bytes) -> None:
        """Take in what the program has drawn, and answer what it asks of a terminal."""
        self._stream.feed(drawn)
        if b"\x1b[6n" in drawn:  # the program asks where the cursor is (ECMA-48, device status report)
            os.write(self.descriptor, f"\x1b[{self.screen.cursor.y + 1};{self.screen.cursor.x + 1}R".encode())

    def text(self) -> str:
        """The lines as they stand, without what is empty at their ends; the day and the clock are made the same."""
        lines = "\n".join(line.rstrip() for line in self.screen.display).rstrip() + "\n"
        lines = re.sub(r"\d{4}-\d\d-\d\d(-\d+)", r"2026-01-01\1", lines)
        return re.sub(r"\b\d\d:\d\d\b", "12:00", lines)
