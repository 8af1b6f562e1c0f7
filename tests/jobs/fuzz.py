"""Breaks knowledge files and works cases in any order, and holds what comes of it against what must hold.

    python tests/jobs/fuzz.py --files 100000 --seed 1
    python tests/jobs/fuzz.py --cases 1000 --steps 60 --seed 1
    python tests/jobs/fuzz.py --books 1000 --seed 1

A file: shipped ones with bytes flipped, lines swapped, indented otherwise, taken out or doubled, words and signs
replaced, or any bytes at all. It is read with as much beside it as `tests/support/mangled.py` says, some of them within
their whole book: a book or messages with file and line, in a second of processor time and 200 MB, and no exception.
A case: hypothesis presses any key and types any words, leaves and comes back, lets somebody else write in between:
nothing acknowledged is lost, the log replayed is the state at work, figures are probabilities, no step goes against the
safety rules of `tests/jobs/rules.py`, and none is logged whose cautions were not read; on a shipped book
(`--family`) belief is looked at in part, as `tests/support/walk.py` says. A book: a small one drawn at random with a
case on it, every probability of which is held against exact inference by a library. Status 1 with what was found; the
seed of a file or book is told, and `--files 1 --seed` shows it again.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

from hypothesis import HealthCheck, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from faulttree.belief import Believer
from faulttree.book import read_book
from faulttree.book.model import Book
from tests.support.mangled import FAMILIES, SHIPPED, SMALL, mangled, wrong_anywhere
from tests.support.random_books import random_book, random_case
from tests.support.walk import Walk, measured_book

PROPOSED = 5
"""Steps at most that are taken one after the other as proposed, so that cases come to their later prompts."""

WORDS = (
    "wheels wont come up", "wheels wont come up", "1", "2", "1 2", "-1", "25", "25 h", "nan", "inf", "1e999", "0", "-",
    "u", "q", "?", "guard", "volts", "12 V; manual 1", "+12 V; manual 2", "meter 4; 2027", "11.9 V", "1e30 V", "nan V",
    "99999999999999999999 kV", "-5 V", "5 kohm", "\u0663", "\u00b2", "x" * 5000, "\x1b[2J\x1b]0;x\x07", "a\x00b",
    "\ud800 half", "\u202egnp", "<script>", "[bold]x[/bold]", "=1+1", "#eval(1)", "''; drop table entries", "a\nb\rc",
)  # fmt: skip


LOT = 2000
"""Files changed at one go, and read by family and kind: a book is kept as long as what lies beside it is read."""


@dataclass
class Counts:
    """How many files were read, how many of them within their family, the longest and the largest with their seeds,
    and what was wrong."""

    read: int = 0
    within: int = 0
    seconds: tuple[float, int] = (0.0, 0)
    megabytes: tuple[int, int] = (0, 0)
    wrong: list[str] = field(default_factory=list)


def files_read(count: int, first: int, families: Sequence[str], progress: bool = False) -> Counts:
    """Mangle and read so many files, by seeds from the first on."""
    counts = Counts()
    for start in range(first, first + count, LOT):
        _lot_read(range(start, min(start + LOT, first + count)), families, counts)
        if progress:
            said = f"{counts.read} read, {len(counts.wrong)} wrong, {time.process_time():.0f} s"
            print(said, *counts.wrong, sep="\n", file=sys.stderr, flush=True)
    return counts


def _lot_read(numbers: range, families: Sequence[str], counts: Counts) -> None:
    lot = []
    for number in numbers:
        rng = Random(number)
        family = rng.choice(families)
        lot.append((number, family, *mangled(rng, family)))
    for number, family, all_files, changed, how in sorted(lot, key=lambda one: (one[1], one[3].is_book, one[0])):
        told, seconds, megabytes, within = wrong_anywhere(all_files, changed, family, number)
        counts.read, counts.within = counts.read + 1, counts.within + within
        counts.seconds = max(counts.seconds, (seconds, number))
        counts.megabytes = max(counts.megabytes, (megabytes, number))
        if told:
            counts.wrong.append(f"--seed {number}: {changed.name}, {how}: {told}")


@dataclass
class Compared:
    """How many small books were held against exact inference, the largest difference, what was wrong.

    ``limited`` is the largest with sets of three modes at most, which is told and not judged: in books as small as
    these larger sets are likely. The library takes no gate that comes to the same event twice, and no answers that
    cannot be true together; such books are passed over.
    """

    books: int = 0
    largest: float = 0.0
    limited: float = 0.0
    wrong: list[str] = field(default_factory=list)


def books_compared(count: int, first: int) -> Compared:
    """Belief on so many small books, by seeds from the first on."""
    # Wanted here alone: the library of exact inference is large, and the suite runs the rest of this file.
    from pyagrum import DuplicateElement

    from tests.published import oracle
    from tests.published.oracle_network import ImpossibleError
    from tests.published.test_oracle import ROUNDING, differences, worst

    found = Compared()
    for number in range(first, first + count):
        rng = Random(number)
        book = random_book(rng, rng.randint(4, 7), rng.choice([0.001, 0.02, 0.06]))
        evidence = random_case(rng, book, rng.randint(0, 9), (None, 0.1, 10.0, 100.0))
        try:
            exact = oracle.solve(book, evidence, list(book.checks))
        except (DuplicateElement, ImpossibleError):
            continue
        found.books += 1
        off, row = worst(differences(book, Believer(book, size_limit=None).believe(evidence), exact))
        found.largest = max(found.largest, off)
        if not off <= ROUNDING:
            found.wrong.append(f"--seed {number}: off by {off:.3g}, {row}")
        limited, _ = worst(differences(book, Believer(book, size_limit=3).believe(evidence), exact))
        found.limited = max(found.limited, limited)
    return found


@cache
def book_of(family: str) -> Book:
    """The book that cases are worked with: the small one of the tests with a reading, or a shipped one."""
    if family == SMALL:
        return measured_book()
    reading = read_book([SHIPPED], family)
    assert reading.book is not None, reading.problems
    return reading.book


class AnyWay(RuleBasedStateMachine):
    """A case worked in any order."""

    family = SMALL

    def __init__(self) -> None:
        super().__init__()
        self._folder = tempfile.TemporaryDirectory()
        self.walk = Walk(book_of(self.family), Path(self._folder.name))

    @initialize(locked=st.sampled_from((True, False, None)), turn=st.integers(0, 999))
    def begin(self, locked: bool | None, turn: int) -> None:
        """With the opening questions answered, two times of three; whose turn it is of what is looked at in part."""
        self.walk.moments = turn
        if locked is not None:
            self.walk.open_up(locked)

    @rule(number=st.integers(0, 40), aside=st.booleans())
    def press(self, number: int, aside: bool) -> None:
        """Any key of what is on the screen."""
        if not self.walk.is_over():
            self.walk.press(number, aside)

    @rule(typed=st.sampled_from(WORDS) | st.text(max_size=30))
    def type(self, typed: str) -> None:
        """Any words, where words are asked for."""
        asked = self.walk.asked()
        if asked is not None and asked.text:
            self.walk.type(typed)

    @rule(steps=st.integers(1, PROPOSED), last=st.booleans())
    def go_on(self, steps: int, last: bool) -> None:
        """As proposed: cautions read, what is asked for set up, the first or the last of the results found."""
        for _ in range(steps):
            if not self.walk.is_over():
                self.walk.go_on(last)

    @rule(locked=st.booleans())
    def open_up(self, locked: bool) -> None:
        """The beginning at one go, so that there is time for the work."""
        if not self.walk.is_over():
            self.walk.open_up(locked)

    @rule()
    def measure(self) -> None:
        """To the reading, by its name."""
        if not self.walk.is_over():
            self.walk.measure()

    @rule()
    def resume(self) -> None:
        """Leave, and take the case up again."""
        self.walk.resume()

    @rule(text=st.sampled_from(WORDS))
    def elsewhere(self, text: str) -> None:
        """Somebody else writes a note into the case."""
        self.walk.elsewhere(text)

    @rule()
    def think(self) -> None:
        """What is worked out beside the prompt."""
        self.walk.refine()

    @invariant()
    def holds(self) -> None:
        """All that must hold."""
        wrong = list(self.walk.faults())
        assert wrong == [], wrong

    def teardown(self) -> None:
        """The folder goes."""
        self.walk.close()
        self._folder.cleanup()


def random_walks(cases: int, steps: int, number: int, family: str = SMALL) -> None:
    """Work so many cases of so many steps, by a seed. Raises AssertionError with the shortest way to what fails."""
    run_state_machine_as_test(  # type: ignore[no-untyped-call]  # hypothesis leaves it without types
        seed(number)(type("AnyWay", (AnyWay,), {"family": family})),
        settings=settings(
            max_examples=cases, stateful_step_count=steps, deadline=None, database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--files", type=int, default=0, metavar="N", help="knowledge files to mangle and read")
    parser.add_argument("--cases", type=int, default=0, metavar="N", help="cases to work in any order")
    parser.add_argument("--books", type=int, default=0, metavar="N", help="small books to hold against exact inference")
    parser.add_argument("--family", choices=(SMALL, *FAMILIES), default=SMALL, help="book of the cases")
    parser.add_argument("--steps", type=int, default=60, metavar="N", help="steps of a case")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    counts = files_read(given.files, given.seed, (SMALL, SMALL, *FAMILIES), progress=True)
    if given.files:
        print(*counts.wrong, sep="\n" if counts.wrong else "")
        print(f"{counts.read} files, {counts.within} of them within their family too, {len(counts.wrong)} wrong")
        (longest, slow), (most, large) = counts.seconds, counts.megabytes
        print(f"at most {longest:.2f} s (--seed {slow}), {most} MB (--seed {large})")
    if given.books:
        found = books_compared(given.books, given.seed)
        print(*found.wrong, sep="\n" if found.wrong else "")
        print(
            f"{found.books} books, {len(found.wrong)} wrong; off by {found.largest:.2g} at most, by {found.limited:.2g}"
        )
        print("with sets of three modes at most")
        counts.wrong += found.wrong
    if given.cases:
        random_walks(given.cases, given.steps, given.seed, given.family)
        print(f"{given.cases} cases of {given.steps} steps: all holds")
    return 1 if counts.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
