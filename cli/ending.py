"""Told to end from outside: the program leaves as it does by a key, with the terminal as it was.

By default SIGTERM ends a program on the spot, and a terminal whose keys were being read one by one shows no typing any
more. SIGHUP says that the terminal is gone; whatever is said then, nobody hears it.
"""

from __future__ import annotations

import contextlib
import os
import signal
import stat
import sys
import threading
from collections.abc import Iterator
from types import FrameType

FROM_OUTSIDE = (signal.SIGTERM, signal.SIGHUP)


class Ended(KeyboardInterrupt):
    """The program was told to end. Whatever leaves at Control-C leaves at this."""


@contextlib.contextmanager
def ends_as_by_a_key() -> Iterator[list[int]]:
    """Within it these signals raise Ended; gives the list of those that came. What somebody ignores stays ignored."""
    came: list[int] = []

    def end(number: int, frame: FrameType | None) -> None:
        came.append(number)
        signal.signal(number, signal.SIG_DFL)  # who asks again means it
        if number == signal.SIGHUP:
            fall_silent()
        raise Ended

    before = {}
    if threading.current_thread() is threading.main_thread():
        before = {each: signal.signal(each, end) for each in FROM_OUTSIDE if signal.getsignal(each) == signal.SIG_DFL}
    try:
        yield came
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)


def fall_silent(also_files: bool = False) -> None:
    """What is still said goes nowhere: not to a terminal that is gone, or, ``also_files``, to a pipe that is closed."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        # What is no file at all (a buffer of the tests) says so in one of these ways.
        with contextlib.suppress(OSError, ValueError, AttributeError):
            number = stream.fileno()
            # A terminal that is gone says no more that it is one; it still is no file.
            if also_files or stat.S_ISCHR(os.fstat(number).st_mode):
                os.dup2(nowhere, number)
    os.close(nowhere)


def say_the_rest() -> None:
    """What is still to be said is said now, or never: at the exit it would end the program with a status of its own."""
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except (OSError, ValueError):
        fall_silent(also_files=True)
