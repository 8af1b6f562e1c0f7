"""Checks the book of a family: whether it is sound at every option, and whether its cases bring out what they must."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from faulttree.book import Book, check_all_options, read_book, read_cases
from faulttree.errors import FaulttreeError
from faulttree.workshop.regression import CaseRunner


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
    cores = os.cpu_count() or 1
    with ProcessPoolExecutor(cores) as pool:
        sound = {family: pool.submit(_problems, tuple(folders), family) for family in chosen}
        shares = {
            family: [pool.submit(_share, tuple(folders), family, i, cores, refined) for i in range(cores)]
            for family in chosen
        }
        for family in chosen:
            yield _together(family, sound[family].result(), shares[family])


def _together(family: str, problems: tuple[str, ...], shares: Sequence[Future[tuple[int, list[str]]]]) -> Checked:
    if problems:
        for share in shares:
            share.cancel()
        return Checked(family, problems, 0, ())
    done = [share.result() for share in shares]
    return Checked(family, (), sum(count for count, _ in done), tuple(miss for _, misses in done for miss in misses))


def _problems(folders: Sequence[Path], family: str) -> tuple[str, ...]:
    found = (*check_all_options(folders, family), *read_cases(folders, family).problems)
    return tuple(str(problem) for problem in found)


def _share(folders: Sequence[Path], family: str, share: int, shares: int, refined: bool) -> tuple[int, list[str]]:
    """Runs every so manieth case; of a book that is not sound none."""

    def load(fitted: tuple[str, ...]) -> Book:
        book = read_book(folders, family, fitted).book
        if book is None:
            raise FaulttreeError(f"the book does not load with {', '.join(fitted)}")
        return book

    reading, runner = read_cases(folders, family), CaseRunner(load, refined)
    if read_book(folders, family).book is None:
        return 0, []
    results = [runner.run(case) for case in reading.cases[share::shares]]
    return len(results), [f"{r.case.position}: case {r.case.id}: {miss}" for r in results for miss in r.misses]
