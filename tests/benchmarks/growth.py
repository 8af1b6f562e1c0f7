"""How everything grows: faults, checks and overlays of a book, cases of a store, answers of a case.

    python tests/benchmarks/growth.py
    python tests/benchmarks/growth.py --part faults --most 1000

Each table doubles or trebles one size and leaves the others. Beside the seconds stands the power of the size that they
grew with since the row before: 1 is in proportion, 2 is with the square. Goal: up to 1,000 faults in one family
nothing grows faster than n log n, which is a power of about 1.2 here. Seconds of this process' own work, the least of
two; the store's are by the clock, since the disk is waited for.
"""

from __future__ import annotations

import argparse
import math
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from faulttree.advice import Advisor, Situation
from faulttree.belief import Believer, Entry, Evidence, Reported, plain
from faulttree.book import read_book, reader, yamltext
from faulttree.book.model import Book
from faulttree.case import CaseEntry, add_up
from faulttree.store import Cases, Database
from faulttree.store.cards import Wanted
from faulttree.workshop.checking import read as checked
from tests.benchmarks.many_cases import fill
from tests.support.large_books import LARGE, large_texts, overlay_texts

FAULTS = (60, 120, 250, 500, 1_000, 3_000, 10_000)
CHECKS = (100, 300, 1_000, 3_000)
OVERLAYS = (1, 5, 20, 50)
WIDE = (60, 120, 240, 480, 1_000)
CASES = (10, 100, 1_000, 10_000, 100_000)
ANSWERS = (5, 20, 50, 150, 500)
N_LOG_N = 1.2
TOO_LONG = 120.0
"""Seconds after which a column is not measured at larger sizes."""

Work = Mapping[str, Callable[[], object]]
Clock = Callable[[], float]


def seconds(work: Callable[[], object], clock: Clock) -> float:
    """The least of two runs, each as if the process had just been started."""
    taken = []
    for _ in range(2):
        reader._load.cache_clear()
        yamltext.forget()
        start = clock()
        work()
        taken.append(clock() - start)
        if taken[0] > 10.0:
            break
    return min(taken)


def table(
    title: str,
    sizes: Sequence[int],
    at: Callable[[int], Iterator[Work]],
    clock: Callable[[], float] = time.process_time,
) -> list[str]:
    """Prints one; returns what grew faster than n log n, in words."""
    print(f"\n{title}")
    before: dict[str, tuple[int, float]] = {}
    fast = []
    for size in sizes:
        told = [f"{size:>8}"]
        for works in at(size):
            for name, work in works.items():
                if before.get(name, (0, 0.0))[1] > TOO_LONG:
                    told.append(f"{name} not measured")
                    continue
                spent = seconds(work, clock)
                told.append(f"{name} {spent:.3f}{_power(before.get(name), size, spent)}")
                if name in before and _grew(before[name], size, spent) > N_LOG_N and spent > 0.02:
                    fast.append(f"{title}, {name}: {before[name][0]} to {size}")
                before[name] = size, spent
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        print("  ".join(told), f" peak {peak} MB", flush=True)
    return fast


def _grew(before: tuple[int, float], size: int, spent: float) -> float:
    return math.log(max(spent, 1e-6) / max(before[1], 1e-6)) / math.log(size / before[0])


def _power(before: tuple[int, float] | None, size: int, spent: float) -> str:
    return "" if before is None else f" ({_grew(before, size, spent):+.1f})"


def written(at: Path, texts: Mapping[str, str]) -> Path:
    """The files in a folder."""
    for name, text in texts.items():
        (at / name).parent.mkdir(parents=True, exist_ok=True)
        (at / name).write_text(text, encoding="utf-8")
    return at


def book_of(*folders: Path) -> Book:
    """The book of these folders."""
    reading = read_book(folders, LARGE)
    assert reading.book is not None, reading.problems[:3]
    return reading.book


def answered(book: Book, symptom: str, count: int) -> Evidence:
    """A symptom, and the last outcome of so many checks of the book."""
    checks = [c for c in book.checks.values() if not c.proof][:count]
    entries: list[Entry] = [Reported(symptom)]
    entries += [plain(book, check.id, check.outcomes[-1].id) for check in checks]
    return Evidence(tuple(entries))


def of_book(folders: Sequence[Path], symptom: str) -> Iterator[Work]:
    """Reading, checking, the first ranking, one more answer, the quick choice."""
    book = book_of(*folders)
    few, more = answered(book, symptom, 4), answered(book, symptom, 5)
    yield {"read": lambda: book_of(*folders), "check": lambda: checked(folders, LARGE)}
    yield {"ranking": lambda: Believer(book).believe(few).faults}
    believer = Believer(book)
    believer.believe(few)
    yield {"answer": lambda: believer.believe(more).faults}
    belief = believer.believe(more)
    yield {"advice": lambda: Advisor(book).advise(belief, Situation(), ahead=False)}


def by_faults(at: Path, size: int) -> Iterator[Work]:
    """A symptom comes of some fifty faults, however many there are."""
    yield from of_book([written(at / f"faults-{size}", large_texts(size))], "trouble-0")


def by_checks(at: Path, size: int) -> Iterator[Work]:
    """So many checks of 250 faults."""
    yield from of_book([written(at / f"checks-{size}", large_texts(250, size))], "trouble-0")


def by_reach(at: Path, size: int) -> Iterator[Work]:
    """A symptom that comes of them all."""
    yield from of_book([written(at / f"wide-{size}", large_texts(size, 100, size))], "everywhere")


def by_overlays(at: Path, size: int) -> Iterator[Work]:
    """So many overlays over 250 faults."""
    base = written(at / f"base-{size}", large_texts(250))
    more = [written(at / f"own-{size}-{i}", overlay_texts(i, 250)) for i in range(size)]
    yield {"read": lambda: book_of(base, *more), "check": lambda: checked([base, *more], LARGE)}


def by_answers(at: Path, size: int) -> Iterator[Work]:
    """One case with so many answers, each check answered as often as it takes."""
    book = book_of(written(at / f"answers-{size}", large_texts(120)))
    checks = [c for c in book.checks.values() if not c.proof]
    told = [("squawk", {"text": "gear shows trouble-0"}), ("symptom", {"symptom": "trouble-0", "present": True})]
    entries = [CaseEntry(n, "", "", kind, data) for n, (kind, data) in enumerate(told, 1)]
    for n in range(size):
        check = checks[n % len(checks)]
        data = {"check": check.id, "outcome": check.outcomes[-1].id, "sure": True}
        entries.append(CaseEntry(len(entries) + 1, "", "", "answer", data))
    state = add_up(book, entries)
    yield {"add up": lambda: add_up(book, entries), "ranking": lambda: Believer(book).believe(state.beliefs()).faults}
    belief = Believer(book).believe(state.beliefs())
    yield {"advice": lambda: Advisor(book).advise(belief, state.situation(book), ahead=False)}


def by_cases(at: Path, size: int) -> Iterator[Work]:
    """So many cases in the store."""
    url = f"sqlite:///{at / f'cases-{size}.sqlite'}"
    opened = {"family": "made-up", "fitted": [], "job": "", "version": "1", "digest": "", "overlays": [], "assumed": []}
    fill(url, size, opened)
    with closing(Database(url)) as database:
        cases = Cases(database)
        name = cases.cards(most=1)[0][0].name

        def one_more() -> None:
            cases.append(name, len(cases.read(name)), "mechanic", [("note", {"text": "nothing seen"})])

        yield {"list": lambda: cases.cards(most=50), "words": lambda: cases.cards(Wanted(words=("crank 9",)), 50)}
        yield {"read": lambda: cases.read(name), "append": one_more}


def main() -> int:
    """The command; 1 where something up to 1,000 faults grew faster than n log n."""
    parts = {
        "faults": ("faults in the family, fifty of them behind the symptom", FAULTS, by_faults),
        "checks": ("checks of 250 faults", CHECKS, by_checks),
        "reach": ("faults behind one symptom", WIDE, by_reach),
        "overlays": ("overlays", OVERLAYS, by_overlays),
        "answers": ("answers in one case", ANSWERS, by_answers),
        "cases": ("cases in the store", CASES, by_cases),
    }
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--part", choices=parts, action="append", help="one table alone; may be repeated")
    parser.add_argument("--most", type=int, default=100_000, help="no size beyond this")
    given = parser.parse_args()
    fast = []
    for part in given.part or parts:
        title, sizes, works = parts[part]
        with tempfile.TemporaryDirectory() as at:
            few = [size for size in sizes if size <= given.most]
            clock = time.perf_counter if part == "cases" else time.process_time
            fast += table(title, few, lambda size, works=works, at=at: works(Path(at), size), clock)
    print("\nfaster than n log n:", *(fast or ["nothing"]), sep="\n  ")
    return 1 if any(int(one.rpartition(" ")[2]) <= 1_000 for one in fast if one.startswith("faults in")) else 0


if __name__ == "__main__":
    sys.exit(main())
