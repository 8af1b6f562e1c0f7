"""What ten thousand cases cost: lists, opening a case and resuming one, beside a store with one case.

    python tests/benchmarks/many_cases.py
    python tests/benchmarks/many_cases.py --postgres

Goal: each takes at most 0.2 s longer than with one case. The times are of the whole command in a process that has
loaded what it needs, the median of several; that of `python -c "import numpy"` in the same run stands beside them. Then
the queries that read every row, by the database's own plan.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, nullcontext
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from sqlalchemy import Connection, Engine, event, insert, text

from faulttree.case import CaseEntry, chained
from faulttree.store import Database, schema
from faulttree.store.cards import values_of
from faulttree.store.cases import write_entries
from faulttree_cli import places
from faulttree_cli.desk import Desk
from faulttree_cli.main import main as faulttree
from tests.support import postgres
from tests.support.mechanic import Following, Mechanic, Shown, folders, work

CASES = 10_000
A_DAY = 8
"""Cases a day, so that the store spans some years; those of today are as many more."""

GOAL = 0.2
REPEATS = 9
AT_ONCE = 500
WORDS = ("gear stays down", "no up light", "doors buzz", "horn is dead", "pump runs on", "crank is stiff")
LAST_WORK = ("left-open", {"reason": "waits for a part"})
TABLE_READ = ("SCAN", "Seq Scan")


def entries_of(number: int, opened: dict[str, Any], at: datetime) -> list[CaseEntry]:
    """A chained log of about ten entries."""
    words = WORDS[number % len(WORDS)]
    kinds: list[tuple[str, dict[str, Any]]] = [
        ("opened", {**opened, "job": f"QQ-{number % 400:03}", "uid": f"{number:032x}"}),
        ("squawk", {"text": f"{words}, flight {number}, since the last landing"}),
        ("symptom", {"symptom": "stays-down", "present": True}),
        ("symptoms-settled", {}),
        ("opening", {"question": "lowered-by-emergency-means", "answer": "no"}),
        ("circumstance", {"circumstances": []}),
        ("hours", {"hours": 25.0}),
        ("started", {"kind": "ask", "id": "motor-sound"}),
        ("answer", {"check": "motor-sound", "outcome": "silent", "sure": True}),
        *([LAST_WORK] if number % 3 else [("note", {"text": f"wiring loom {number} looks old"})]),
    ]
    entries: list[CaseEntry] = []
    for place, (kind, data) in enumerate(kinds, 1):
        moment = at + timedelta(minutes=place)
        stamp = moment.isoformat(timespec="seconds")
        entry = CaseEntry(place, stamp, "mechanic", kind, data, stamp)
        entries.append(chained(entry, entries[-1].digest if entries else ""))
    return entries


def fill(url: str, count: int, opened: dict[str, Any]) -> None:
    """So many cases, in the past, eight a day."""
    start = datetime.now(UTC) - timedelta(days=count // A_DAY + 2)
    with closing(Database(url)) as database:
        for first in range(0, count, AT_ONCE):
            with database.writing() as connection:
                _insert(connection, range(first, min(first + AT_ONCE, count)), opened, start)


def _insert(connection: Connection, numbers: Sequence[int], opened: dict[str, Any], start: datetime) -> None:
    logs = {}
    for number in numbers:
        day = start + timedelta(days=number // A_DAY, hours=number % A_DAY)
        logs[f"{day:%Y-%m-%d}-{number % A_DAY + 1}"] = (f"{number:032x}", entries_of(number, opened, day))
    cards = [{"name": name, "uid": uid, **values_of(entries)} for name, (uid, entries) in logs.items()]
    connection.execute(insert(schema.cases), cards)
    for name, (_, entries) in logs.items():
        write_entries(connection, name, entries)


# -- what is measured ------------------------------------------------------------------------------------


class Gone(Exception):
    """The user has seen what was measured."""


def until_asked(topic: str) -> Callable[[Shown], str]:
    """Answers everything before a prompt about something, and leaves there."""
    mechanic = Mechanic()

    def ask(shown: Shown) -> str:
        if shown.name and shown.topic == topic:
            raise Gone
        return mechanic.answer(shown)

    return ask


def opening(more: Path) -> None:
    """A new case, up to its first question."""
    with contextlib.suppress(Gone):
        work(more, Following(until_asked("squawk")))


def resuming(more: Path) -> None:
    """The case that was worked last, taken up, up to how the aircraft stands."""
    with contextlib.suppress(Gone):
        work(more, Following(until_asked("as-it-stands")), _last())


def answering(more: Path) -> None:
    """One entry more in the case that was worked last: a note."""
    with closing(Desk()) as desk:
        name = _last()
        desk.cases.append(name, len(desk.cases.read(name)), "mechanic", [("note", {"text": "nothing seen"})])


def _last() -> str:
    with closing(Desk()) as desk:
        return desk.cases.cards(most=1)[0][0].name


def listed(*words: str) -> Callable[[Path], None]:
    """A list."""

    def run(more: Path) -> None:
        with contextlib.redirect_stdout(io.StringIO()):
            assert faulttree(["cases", *words]) == 0

    return run


# Opening comes last, so that the store with one case has no more than that one before.
MEASURED: dict[str, Callable[[Path], None]] = {
    "cases": listed(),
    "cases --open": listed("--open"),
    "cases --words crank 9": listed("--words", "crank", "9"),
    "cases --words nowhere": listed("--words", "nowhere"),
    "cases --aircraft QQ-017": listed("--aircraft", "QQ-017"),
    "cases --symptom stays-down": listed("--symptom", "stays-down"),
    "resuming a case": resuming,
    "one more answer": answering,
    "opening a new case": opening,
}


def seconds(run: Callable[[Path], None], more: Path) -> float:
    """The median of several."""
    run(more)
    taken = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        run(more)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def of_numpy() -> float:
    """Seconds that Python and numpy take to load, the median."""
    taken = []
    for _ in range(3):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import numpy"], check=True)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


@contextlib.contextmanager
def plans() -> Iterator[dict[str, set[str]]]:
    """The tables that queries read whole while this is open, each with the queries."""
    found: dict[str, set[str]] = {}

    def explain(connection: Any, cursor: Any, statement: str, parameters: Any, *_: object) -> None:
        if not statement.startswith(("SELECT", "UPDATE")) or "pg_catalog" in statement or "sqlite_" in statement:
            return
        words = "EXPLAIN QUERY PLAN " if connection.dialect.name == "sqlite" else "EXPLAIN "
        beside = connection.connection.cursor()
        beside.execute(words + statement, parameters)
        for row in beside.fetchall():
            line = str(row[-1]).strip()
            if any(word in line for word in TABLE_READ):
                found.setdefault(line.split("  (")[0], set()).add(" ".join(statement.split()))
        beside.close()

    event.listen(Engine, "before_cursor_execute", explain)
    try:
        yield found
    finally:
        event.remove(Engine, "before_cursor_execute", explain)


def one_case(at: Path, url: str | None) -> tuple[dict[str, float], dict[str, Any]]:
    """The times in a store with one case, and what that was opened with."""
    with folders(at, url) as more:
        opening(more)
        with closing(Desk()) as desk:
            opened = dict(desk.cases.read(_last())[0].data)
        return {name: seconds(run, more) for name, run in MEASURED.items()}, opened


def many_cases(at: Path, url: str | None, opened: dict[str, Any]) -> tuple[dict[str, float], dict[str, set[str]]]:
    """The times in a store with all of them, and the queries that read whole tables."""
    with folders(at, url) as more:
        start = time.perf_counter()
        fill(places.database(), CASES, opened)
        print(f"{CASES} cases written in {time.perf_counter() - start:.1f} s")
        if url is not None:
            with closing(Database(url)) as database, database.writing() as connection:
                connection.execute(text("ANALYZE"))
        times = {name: seconds(run, more) for name, run in MEASURED.items()}
        with plans() as found:
            for run in MEASURED.values():
                run(more)
        return times, found


def report(few: dict[str, float], many: dict[str, float], numpy: float) -> bool:
    """Prints the table; whether the goal was met by all."""
    print(f"{'ms':28}{'one case':>10}{f'{CASES} cases':>14}{'more':>8}{'more/numpy':>12}")
    for name in MEASURED:
        more = many[name] - few[name]
        told = "" if more <= GOAL else "  over the goal"
        print(f"{name:28}{few[name] * 1e3:10.1f}{many[name] * 1e3:14.1f}{more * 1e3:8.1f}{more / numpy:12.2f}{told}")
    print(f"python -c 'import numpy': {numpy * 1e3:.0f} ms. Goal: at most {GOAL * 1e3:.0f} ms more.")
    return all(many[name] - few[name] <= GOAL for name in MEASURED)


def main() -> int:
    """The command; 1 where the goal was missed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--postgres", action="store_true", help="on a PostgreSQL that is started for it")
    given = parser.parse_args()
    with (
        tempfile.TemporaryDirectory() as at,
        postgres.server() if given.postgres else nullcontext(None) as one,
        postgres.server() if given.postgres else nullcontext(None) as many,
    ):
        few, opened = one_case(Path(at) / "one", one)
        times, found = many_cases(Path(at) / "many", many, opened)
    met = report(few, times, of_numpy())
    print("Read whole:", *(f"  {line}\n    {query[:160]}" for line in found for query in found[line]), sep="\n")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
