"""Books that speed is measured on: the shipped families, and made-up ones of any size."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from faulttree.advice import Advisor, Situation
from faulttree.belief import Answer, Believer, Entry, Evidence, Reported
from faulttree.book import read_book
from faulttree.book.model import Book
from tests.support.large_books import LARGE, large_texts

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge"
SHIPPED = ("electromechanical", "power-pack", "engine-driven")
SIZES = (60, 250, 1_000)
WIDE = (60, 120, 240)
ANSWERS = 3


@dataclass(frozen=True)
class Subject:
    """A family as it is shipped; where ``faults`` are given a made-up one, ``wide`` of them behind one symptom."""

    family: str
    faults: int = 0
    wide: int = 0

    @property
    def name(self) -> str:
        """As tables tell it."""
        if self.wide:
            return f"made up, {self.wide} faults behind one symptom"
        return f"made up, {self.faults} faults" if self.faults else self.family

    @contextmanager
    def folder(self) -> Iterator[Path]:
        """The folder that its files lie in."""
        if not self.faults:
            yield KNOWLEDGE
            return
        with tempfile.TemporaryDirectory() as at:
            for name, text in large_texts(self.faults, wide=self.wide).items():
                (Path(at) / name).parent.mkdir(parents=True, exist_ok=True)
                (Path(at) / name).write_text(text, encoding="utf-8")
            yield Path(at)

    def book(self) -> Book:
        """The book, read."""
        with self.folder() as folder:
            reading = read_book([folder], self.family)
        assert reading.book is not None, reading.problems[:3]
        return reading.book

    def symptoms(self, book: Book, few: int | None = None) -> list[str]:
        """Those to measure: all shipped ones, or ``few`` of them spread out; of made-up ones, which are alike, one."""
        every = list(book.symptoms)
        if self.faults:
            return ["everywhere"] if self.wide else every[:1]
        if few is None or few >= len(every):
            return every
        return [every[place * len(every) // few] for place in range(few)]


def made_up(faults: int, wide: int = 0) -> Subject:
    """A made-up family."""
    return Subject(LARGE, faults, wide)


def all_subjects() -> list[Subject]:
    """The shipped families and the made-up ones."""
    shipped = [Subject(family) for family in SHIPPED]
    return [*shipped, *(made_up(faults) for faults in SIZES), *(made_up(wide, wide) for wide in WIDE)]


def answered(book: Book, symptom: str, answers: int = ANSWERS) -> Evidence:
    """A symptom, and the last outcome of each of the first checks that the quick choice proposes."""
    advisor, believer, entries = Advisor(book), Believer(book), list[Entry]([Reported(symptom)])
    while len(entries) <= answers:
        done = frozenset(e.check for e in entries if isinstance(e, Answer))
        belief = believer.believe(Evidence(tuple(entries)))
        steps = advisor.advise(belief, Situation(done=done), ahead=False, words=False).suggestions
        check = next((book.checks[s.id] for s in steps if s.kind in ("ask", "check")), None)
        if check is None:
            break
        last = len(check.outcomes) - 1
        entries.append(Answer(check.id, tuple(float(place == last) for place in range(last + 1))))
    return Evidence(tuple(entries))
