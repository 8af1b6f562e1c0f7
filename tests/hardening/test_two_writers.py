"""Two processes that write to one case at once: no entry is lost or doubled, and each is told what the other added."""

from __future__ import annotations

import json
import multiprocessing
from collections.abc import Callable
from contextlib import closing
from itertools import pairwise
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Barrier
from pathlib import Path
from typing import Any

import psycopg
import pytest

from faulttree.case import CaseEntry, verify
from faulttree.store import Cases, Database, Overtaken, verify_cases
from tests.support.mechanic import Following, Mechanic, Shown, folders, work

WRITERS = ("day shift", "night shift")
EACH = 30
"""Answers of each writer. An answer is one entry, or two that belong together."""

LONGEST = 60.0
OPENED = {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0"}
FORK = multiprocessing.get_context("fork")


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    """One database for all of these tests: each has its own cases there."""
    if request.param == "postgresql":
        return str(request.getfixturevalue("server"))
    return f"sqlite:///{tmp_path_factory.mktemp('shop') / 'cases.sqlite'}"


def read(url: str, name: str) -> list[CaseEntry]:
    """The entries of a case that verifies."""
    with closing(Database(url)) as database:
        assert [verdict.wrong for verdict in verify_cases(Cases(database), [name])] == [""]
        return Cases(database).read(name)


# -- one case ------------------------------------------------------------------------------------------


def hammer(url: str, name: str, who: str, ready: Barrier, report: Connection) -> None:
    """Write answers to a case as fast as they are taken; tells what was acknowledged and how often it was overtaken."""
    with closing(Database(url)) as database:
        cases = Cases(database)
        known = cases.read(name)
        acknowledged: list[int] = []
        overtaken = 0
        for answer in range(EACH):
            ready.wait(LONGEST)  # so that the two meet at every answer
            new = [("note", {"text": f"{who} {answer} {part}"}) for part in range(1 + answer % 2)]
            while True:
                try:
                    added = cases.append(name, len(known), who, new)
                    break
                except Overtaken as problem:
                    news = problem.added
                overtaken += 1
                # What the other added, whole and in order, goes on from what is known here.
                assert news
                assert all(entry.who != who for entry in news)
                known += news
                assert verify(known) is None
            known += added
            acknowledged += [entry.number for entry in added]
    report.send((acknowledged, overtaken, [entry.digest for entry in known]))


def at_once(target: Callable[..., None], *args: tuple[Any, ...]) -> list[Any]:
    """What processes report that run beside each other, each with its arguments, a common start, and a pipe."""
    ready = FORK.Barrier(len(args))
    running = []
    for mine in args:
        here, there = FORK.Pipe(duplex=False)
        process = FORK.Process(target=target, args=(*mine, ready, there))
        process.start()
        there.close()
        running.append((process, here))
    reports = []
    for process, here in running:
        assert here.poll(LONGEST), "hangs"
        reports.append(here.recv())
        process.join(LONGEST)
        assert process.exitcode == 0
        here.close()
        process.close()
    return reports


@pytest.fixture(scope="module")
def hammered(url: str) -> tuple[list[CaseEntry], dict[str, Any]]:
    """The log after two writers, and what each of them reported."""
    with closing(Database(url)) as database:
        name, _ = Cases(database).open("lead", OPENED)
    reports = at_once(hammer, *[(url, name, who) for who in WRITERS])
    return read(url, name), dict(zip(WRITERS, reports, strict=True))


def test_two_writers_lose_and_double_nothing(hammered: tuple[list[CaseEntry], dict[str, Any]]) -> None:
    """Every answer stands once, its entries together, each writer's in the order they were given."""
    entries, reports = hammered
    for who in WRITERS:
        mine = [entry for entry in entries if entry.who == who]
        wanted = [f"{who} {answer} {part}" for answer in range(EACH) for part in range(1 + answer % 2)]
        assert [entry.data["text"] for entry in mine] == wanted
        assert [entry.number for entry in mine] == reports[who][0]
        pairs = [pair for pair in pairwise(mine) if pair[1].data["text"].endswith(" 1")]
        assert all(second.number == first.number + 1 for first, second in pairs)
    assert len(entries) == 1 + sum(len(reports[who][0]) for who in WRITERS)


def test_each_writer_knows_what_the_other_added(hammered: tuple[list[CaseEntry], dict[str, Any]]) -> None:
    """What a writer was told by way of Overtaken is the log, entry by entry; and they did get in each other's way."""
    entries, reports = hammered
    for who in WRITERS:
        digests = reports[who][2]
        assert digests == [entry.digest for entry in entries][: len(digests)]
    assert sum(reports[who][1] for who in WRITERS) >= EACH / 2, "the two hardly met: little was tried"


# -- several cases opened at once ------------------------------------------------------------------------


def open_many(url: str, count: int, ready: Barrier, report: Connection) -> None:
    """Open cases as fast as possible in a database that may not even exist."""
    with closing(Database(url)) as database:
        ready.wait(LONGEST)
        report.send([Cases(database).open("mechanic", OPENED)[0] for _ in range(count)])


@pytest.fixture
def empty(url: str, tmp_path: Path) -> str:
    """Such a database in which there are no tables yet."""
    if url.startswith("sqlite"):
        return f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("CREATE DATABASE empty")
    return url.replace("/postgres?", "/empty?")


def test_two_that_open_cases_at_once_get_different_names(empty: str) -> None:
    """Also where the tables are made at that moment: every case has a name of its own."""
    names = [name for opened in at_once(open_many, (empty, 10), (empty, 10)) for name in opened]
    assert len(set(names)) == 20
    with closing(Database(empty)) as database:
        assert [verdict.wrong for verdict in verify_cases(Cases(database), names)] == [""] * 20


# -- the loop of the work --------------------------------------------------------------------------------


def test_the_loop_shows_what_somebody_else_added_and_asks_again(tmp_path: Path, url: str) -> None:
    """An answer to a screen that is not true any more is not taken; the news are shown, and the case is closed."""
    mechanic = Mechanic()
    other: list[Shown] = []

    def ask(shown: Shown) -> str:
        if shown.topic == "next" and not other:
            other.append(shown)
            with closing(Database(url)) as database:
                Cases(database).append(shown.name, shown.entries, "night shift", [("note", {"text": "oil on the rod"})])
        elif other and len(other) < 3:
            other.append(shown)
        return mechanic.answer(shown)

    terminal = Following(ask)
    with folders(tmp_path, url) as more:
        work(more, terminal)
    assert "oil on the rod" in "\n".join(terminal.told)
    assert [(shown.topic, shown.entries - other[0].entries) for shown in other] == [("next", 0), ("", 1), ("next", 1)]
    entries = read(url, other[0].name)
    assert (entries[-1].kind, sum(entry.who == "night shift" for entry in entries)) == ("closed", 1)


def test_the_case_is_read_alike_by_a_reader_between_two_writes(url: str) -> None:
    """A reader sees all entries of an answer or none of them."""
    with closing(Database(url)) as database, closing(Database(url)) as beside:
        writer, reader = Cases(database), Cases(beside)
        name, _ = writer.open("mechanic", OPENED)
        for answer in range(5):
            writer.append(name, 1 + 2 * answer, "mechanic", [("note", {"text": "a"}), ("note", {"text": "b"})])
            found = reader.read(name)
            assert len(found) == 3 + 2 * answer
            assert json.dumps([dict(entry.data) for entry in found[1:]]).count('"b"') == answer + 1
