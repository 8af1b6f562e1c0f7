"""Work in a process of its own, told part by part, that is ended where it takes too long or too much memory."""

from __future__ import annotations

import multiprocessing
import resource
import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

MOST_MEMORY = 3 * 1024**3
"""Bytes."""

DONE = "done"

Parts = Iterator[tuple[str, Mapping[str, float]]]


@dataclass(frozen=True)
class Ended:
    """A part that did not come to its end: why, and the seconds after which it was ended for its time."""

    why: str
    seconds: float = 0.0

    def __str__(self) -> str:
        return self.why


def in_turn(
    work: Callable[..., Parts], given: tuple[object, ...], parts: Sequence[str], limit: float
) -> dict[str, Any]:
    """Each part of some work under its name: what it yields, or how it was ended. Later parts are then left out.

    ``work`` is called with ``given`` in a new process, and has ``limit`` seconds of its own work for each of ``parts``.
    """
    context = multiprocessing.get_context("spawn")
    hear, tell = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(work, given, limit, tell), daemon=True)
    process.start()
    tell.close()
    got: dict[str, Any] = {}
    try:
        while not isinstance(next(reversed(got.values()), None), Ended):
            waited_for = next((part for part in parts if part not in got), "more")
            try:
                name, what = hear.recv()
            except EOFError:
                process.join()
                late = process.exitcode == -signal.SIGPROF
                why = f"not within {limit:g} s" if late else f"ended with status {process.exitcode}"
                name, what = waited_for, Ended(why, limit if late else 0.0)
            if name == DONE:
                break
            got[name or waited_for] = what
    finally:
        process.kill()
        process.join()
        hear.close()
    return got


def _run(work: Callable[..., Parts], given: tuple[object, ...], limit: float, tell: Connection) -> None:
    """The other process: its memory bounded, so that asking for more is an error and not a machine that stalls."""
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, MOST_MEMORY))
    try:
        _start_clock(limit)
        for name, what in work(*given):
            tell.send((name, what))
            _start_clock(limit)
        tell.send((DONE, None))
    except MemoryError:
        tell.send(("", Ended(f"more than {MOST_MEMORY / 1024**3:.0f} GB")))
    except Exception as problem:
        tell.send(("", Ended(f"{type(problem).__name__}: {problem}"[:80])))


def _start_clock(limit: float) -> None:
    """Ends this process after so many seconds of its own work; a busy machine does not make it any shorter."""
    signal.setitimer(signal.ITIMER_PROF, limit)
