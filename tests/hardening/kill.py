"""Kills processes that work a case, at random moments, and holds what is left against what had been shown.

    python tests/hardening/kill.py --times 1000 --seed 1
    python tests/hardening/kill.py --times 100 --seed 1 --postgres

A third are killed at any time, a third some microseconds after a key, a third within a write (on SQLite: while its
journal lies there). Every twentieth is the whole command on a pseudo-terminal. After each: the case opens and verifies,
every entry that a prompt had acknowledged is there, its card says what its log says, and the work goes on to the end.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from sqlalchemy import select

from faulttree.case import CaseEntry, add_up
from faulttree.store import Cases, Database, Wanted, schema, verify_cases
from faulttree.store.cards import values_of
from faulttree_cli import places
from tests.support import postgres
from tests.support.killed import Child, Moment, Told, WithinWrite, after_key, anytime, undisturbed
from tests.support.mechanic import Following, Mechanic, folders, work

KINDS = ("at any time", "after a key", "within a write")
ON_TERMINAL = 20
"""Every so many-th process is the whole command on a pseudo-terminal."""

FRESH = 4
"""Every so many-th works in a database that does not exist yet."""

LONGEST_WRITE = 0.0004
"""Seconds from the appearance of a journal within which a kill within a write is placed."""


@dataclass
class Counts:
    """What became of the processes killed."""

    kinds: Counter[str] = field(default_factory=Counter)
    on_terminal: int = 0
    finished: int = 0
    between: int = 0
    journals: int = 0
    unseen: int = 0
    unnamed: int = 0
    acknowledged: int = 0
    fresh: int = 0

    @property
    def killed(self) -> int:
        """How many did not end by themselves."""
        return sum(self.kinds.values())

    def lines(self) -> list[str]:
        """For people."""
        kinds = ", ".join(f"{self.kinds[kind]} {kind}" for kind in KINDS)
        return [
            f"{self.killed} killed: {kinds}; {self.on_terminal} of them the command on a pseudo-terminal,",
            f"{self.fresh} in a database that did not exist before.",
            f"{self.finished} more came to the end of the case first.",
            f"{self.between} landed between a key and its next prompt; {self.unseen} of them left entries written that",
            "no prompt had acknowledged yet.",
            f"{self.journals} left a journal of an unfinished write, which the next to open it rolled back.",
            f"{self.unnamed} landed before a prompt of the case was shown.",
            f"{self.acknowledged} acknowledged entries, all there; every case verified and was worked to its end.",
        ]


@dataclass
class Run:
    """Where the processes of one run work, and how long one undisturbed takes."""

    at: Path
    postgres_url: str | None
    random: Random
    counts: Counts = field(default_factory=Counts)
    usual: dict[bool, Told] = field(default_factory=dict)
    terminal_every: int = ON_TERMINAL

    def once(self, number: int) -> None:
        """Kill one process, unless it ends before, and look at what it left. Raises AssertionError."""
        on_terminal = number % self.terminal_every == self.terminal_every - 1
        fresh = self.postgres_url is None and number % FRESH == FRESH - 1
        with tempfile.TemporaryDirectory(dir=self.at) as new:
            cases = Path(new) / "cases" if fresh else self.at / "cases"
            with folders(self.at, self.postgres_url, cases) as more:
                usual = self._usual(more, on_terminal)
                before = _names()
                kind = KINDS[number % len(KINDS)]
                journal = cases / "cases.sqlite-journal"
                moment = self._moment(kind, usual, journal)
                told = Child(more, on_terminal).run(Mechanic(self.random), moment)
                self._count(told, kind, on_terminal, fresh, journal)
                self._look(more, told, before)

    def _usual(self, more: Path, on_terminal: bool) -> Told:
        if on_terminal not in self.usual:
            if not self.usual:
                work(more, Following(Mechanic().answer))  # so that forks have all that is loaded on first use
            self.usual[on_terminal] = undisturbed(more, self.random, on_terminal)
        return self.usual[on_terminal]

    def _moment(self, kind: str, usual: Told, journal: Path) -> Moment:
        if kind == "at any time":
            return anytime(self.random.uniform(0, usual.at[-1]))
        number = self.random.randint(1, usual.keys)
        if kind == "within a write" and self.postgres_url is None:
            return WithinWrite(journal, number, self.random.uniform(0, LONGEST_WRITE))
        gaps = [later - sooner for sooner, later in zip(usual.at, usual.at[1:], strict=False)]
        longest = sorted(gaps)[len(gaps) // 2]
        return after_key(number, self.random.uniform(0, longest))

    def _count(self, told: Told, kind: str, on_terminal: bool, fresh: bool, journal: Path) -> None:
        if told.killed_at is None:
            self.counts.finished += 1
            return
        self.counts.kinds[kind] += 1
        self.counts.on_terminal += on_terminal
        self.counts.fresh += fresh
        self.counts.between += told.between
        self.counts.unnamed += told.acknowledged is None
        self.counts.journals += journal.exists() and journal.stat().st_size > 0

    def _look(self, more: Path, told: Told, before: set[str]) -> None:
        """What is there, that it is as it was acknowledged, and that the work goes on to its end."""
        seen = told.acknowledged
        new = _names() - before
        assert len(new) <= 1, f"more than one case came of it: {new}"
        if seen is None and not new:
            work(more, Following(Mechanic().answer))
            name = max(_names() - before)
        else:
            name = seen.name if seen is not None else new.pop()
            there = _sound(name)
            known = 0 if seen is None else seen.entries
            assert len(there) >= known, f"{name}: {known - len(there)} acknowledged entries are lost"
            if seen is not None:
                assert there[known - 1].digest == seen.digest, f"{name}: entry {known} is not the one acknowledged"
            self.counts.acknowledged += known
            self.counts.unseen += told.between and len(there) > known
            work(more, Following(Mechanic().answer), name)
            assert _sound(name)[: len(there)] == there, f"{name}: entries were changed"
        ended = _sound(name)[-1].kind
        assert ended in ("closed", "left-open"), f"{name}: did not come to its end but to {ended!r}"


@contextmanager
def _cases() -> Iterator[Cases]:
    database = Database(places.database())
    try:
        yield Cases(database)
    finally:
        database.close()


def _names() -> set[str]:
    with _cases() as cases:
        return {card.name for away in (False, True) for card in cases.cards(Wanted(archived=away))[0]}


def _sound(name: str) -> list[CaseEntry]:
    """The entries of a case that opens, adds up, verifies, and has the card that its log gives."""
    with _cases() as cases:
        entries = cases.read(name)
        (verdict,) = verify_cases(cases, [name])
        with cases.database.reading() as connection:
            card = connection.execute(select(schema.cases).where(schema.cases.c.name == name)).one()._mapping
    assert verdict.wrong == "", f"{name}: {verdict.wrong}"
    differ = {key: (card[key], value) for key, value in values_of(entries).items() if card[key] != value}
    assert not differ, f"{name}: the card differs from the log: {differ}"
    data = entries[0].data
    add_up(places.load(data["family"], data["fitted"], data["overlays"]), entries)
    return entries


def kill(
    times: int, seed: int, at: Path, postgres_url: str | None = None, every: int = ON_TERMINAL, progress: bool = False
) -> Counts:
    """Kill so many processes, every so many-th of them on a pseudo-terminal.

    Raises AssertionError for the first that left anything but what it should.
    """
    run = Run(at, postgres_url, Random(seed), terminal_every=every)
    for number in count():
        if run.counts.killed == times:
            break
        try:
            run.once(number)
        except BaseException:
            print(f"number {number} of seed {seed}", file=sys.stderr)
            raise
        if progress and number % 50 == 49:
            print(f"{run.counts.killed} killed", file=sys.stderr)
    with folders(at, postgres_url):
        names = sorted(_names())
        with _cases() as cases:
            wrong = [verdict for verdict in verify_cases(cases, names) if verdict.wrong]
    assert not wrong, f"at the end: {wrong}"
    return run.counts


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgres", action="store_true", help="on a PostgreSQL that is started for it")
    given = parser.parse_args()
    if given.postgres and postgres.missing():
        print(postgres.missing(), file=sys.stderr)
        return 2
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as at, postgres.server() if given.postgres else nullcontext(None) as url:
        counts = kill(given.times, given.seed, Path(at), url, progress=True)
    print(*counts.lines(), f"{time.perf_counter() - start:.0f} s.", sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
