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

from faulttree.book import Book, read_book, read_cases
from faulttree.book.cases import RegressionCase
from faulttree.book.files import collect
from faulttree.book.positions import ERROR, Problem
from faulttree.book.reader import check_at_all_options
from faulttree.errors import FaulttreeError
from faulttree.workshop.regression import CaseRunner
from faulttree.workshop.rules import substance
from faulttree.workshop.rules.case_moved import moved
from faulttree.workshop.subject import subject

AT_ONCE = 16
"""Cases that one process runs before it takes the next lot."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in one family: problems of book and cases, the count of cases run, what they missed, advice.

    Where the book does not load no case was run.
    """

    family: str
    problems: tuple[Problem, ...]
    cases: int
    misses: tuple[Problem, ...]
    advice: tuple[Problem, ...] = ()


def check_families(folders: Sequence[Path], chosen: Sequence[str], refined: bool = False) -> Iterator[Checked]:
    """Checks families one after the other as they are done, on all cores; see :class:`CaseRunner` for ``refined``."""
    places = tuple(folders)
    with TemporaryDirectory() as kept, ProcessPoolExecutor(os.cpu_count() or 1, None, _keep_books_in, (kept,)) as pool:
        reading = {family: pool.submit(_read, places, family) for family in chosen}
        running: dict[str, list[tuple[Sequence[RegressionCase], Future[list[Problem]]]]] = {}
        found: dict[str, list[Problem]] = {}
        for family in chosen:
            found[family], cases = reading[family].result()
            lots = list(_lots(cases))
            running[family] = [(lot, pool.submit(_run, places, family, refined, lot)) for lot in lots]
        for family in chosen:
            misses = tuple(miss for _, lot in running[family] for miss in lot.result())
            errors = tuple(problem for problem in found[family] if problem.severity == ERROR)
            advice = tuple(problem for problem in found[family] if problem.severity != ERROR)
            yield Checked(family, errors, sum(len(lot) for lot, _ in running[family]), misses, advice)


_kept: Path | None = None
"""Where the processes of one run put the books that they have read, for each other."""


def _keep_books_in(folder: str) -> None:
    global _kept
    _kept = Path(folder)


def _read(folders: tuple[Path, ...], family: str) -> tuple[list[Problem], list[RegressionCase]]:
    """What is wrong with book and cases; where nothing keeps the book from loading, the cases by symptom."""
    found, cases = read(folders, family)
    alike = sorted(cases, key=lambda case: (case.fitted, bool(case.squawk), case.symptoms))
    return found, alike


def read(folders: Sequence[Path], family: str) -> tuple[list[Problem], Sequence[RegressionCase]]:
    """What is wrong by form and, where the book loads, by substance; and the cases, none where it does not load."""
    files, problems = collect(folders, family)
    found, drafts = check_at_all_options(files, problems, family)
    cases = read_cases(folders, family)
    if found:
        return [*found, *cases.problems], ()
    more = [*cases.problems, *substance(subject(drafts))]
    return more, () if cases.problems else cases.cases


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


def _run(folders: tuple[Path, ...], family: str, refined: bool, cases: Sequence[RegressionCase]) -> list[Problem]:
    results = [_runner(folders, family, refined).run(case) for case in cases]
    return [moved(result.case, miss) for result in results for miss in result.misses]
