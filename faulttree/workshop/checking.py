"""Checks the book of a family: whether it is sound at every option, and whether its cases bring out what they must."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

from faulttree.book import Book, check_all_options, read_book, read_cases
from faulttree.book.cases import RegressionCase
from faulttree.errors import FaulttreeError
from faulttree.workshop.regression import CaseRunner

AT_ONCE = 16
"""Cases that one process runs before it takes the next lot."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in one family: problems of book and cases, the count of cases, what they missed.

    Where there are problems no case was run. Problems and misses say where they are, as ``file:line:column``.
    """

    family: str
    problems: tuple[str, ...]
    cases: int
    misses: tuple[str, ...]


def check_families(folders: Sequence[Path], chosen: Sequence[str], refined: bool = False) -> Iterator[Checked]:
    """Checks families one after the other as they are done, on all cores; see :class:`CaseRunner` for ``refined``."""
    places = tuple(folders)
    with TemporaryDirectory() as kept, ProcessPoolExecutor(os.cpu_count() or 1, None, _keep_books_in, (kept,)) as pool:
        reading = {family: pool.submit(_read, places, family) for family in chosen}
        running: dict[str, list[tuple[Sequence[RegressionCase], Future[list[str]]]]] = {}
        problems = {}
        for family in chosen:
            problems[family], cases = reading[family].result()
            lots = list(_lots(cases))
            running[family] = [(lot, pool.submit(_run, places, family, refined, lot)) for lot in lots]
        for family in chosen:
            misses = tuple(miss for _, lot in running[family] for miss in lot.result())
            yield Checked(family, problems[family], sum(len(lot) for lot, _ in running[family]), misses)


_kept: Path | None = None
"""Where the processes of one run put the books that they have read, for each other."""


def _keep_books_in(folder: str) -> None:
    global _kept
    _kept = Path(folder)


def _read(folders: tuple[Path, ...], family: str) -> tuple[tuple[str, ...], list[RegressionCase]]:
    """Problems of book and cases; where there are none, the cases, those of one symptom after another."""
    reading = read_cases(folders, family)
    problems = tuple(str(problem) for problem in (*check_all_options(folders, family), *reading.problems))
    alike = sorted(reading.cases, key=lambda case: (case.fitted, bool(case.squawk), case.symptoms))
    return problems, [] if problems else alike


def _lots(cases: Sequence[RegressionCase]) -> Iterator[Sequence[RegressionCase]]:
    """Cases by the handful, with the same options in each, so that few processes have to read the same book."""
    for _, alike in groupby(cases, key=lambda case: case.fitted):
        same = list(alike)
        yield from (same[i : i + AT_ONCE] for i in range(0, len(same), AT_ONCE))


@lru_cache(maxsize=8)
def _runner(folders: tuple[Path, ...], family: str, refined: bool) -> CaseRunner:
    """One for each process, so that a book is read once."""

    def load(fitted: tuple[str, ...]) -> Book:
        book = read_book(folders, family, fitted, _kept).book
        if book is None:
            raise FaulttreeError(f"the book does not load with {', '.join(fitted)}")
        return book

    return CaseRunner(load, refined)


def _run(folders: tuple[Path, ...], family: str, refined: bool, cases: Sequence[RegressionCase]) -> list[str]:
    results = [_runner(folders, family, refined).run(case) for case in cases]
    return [f"{r.case.position}: case {r.case.id}: {miss}" for r in results for miss in r.misses]
