"""Checks the book of a family: whether it is sound at every option, makes sense, and brings out what its cases want."""

from __future__ import annotations

import gc
import os
from collections.abc import Collection, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

from faulttree.book import Book, read_book, read_cases
from faulttree.book.cases import RegressionCase
from faulttree.book.drills import read_practice
from faulttree.book.files import collect
from faulttree.book.positions import ERROR, Problem
from faulttree.book.reader import check_at_all_options, load, outline
from faulttree.errors import FaulttreeError
from faulttree.workshop import memory as m
from faulttree.workshop.regression import CaseRunner
from faulttree.workshop.rules import substance
from faulttree.workshop.rules.case_moved import moved
from faulttree.workshop.rules.saying_fits import fitting
from faulttree.workshop.rules.scenario_holds import holding
from faulttree.workshop.subject import subject

MOST_TOLD = 3
"""Problems told where a book does not load with the options of a case."""

AT_ONCE = 8
"""Cases that one process runs before it takes the next lot."""

FEW = 8
"""So many cases are run by whoever has just read the book; to read it once more elsewhere would take longer."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in one family: problems of book and cases, the count of cases judged, what they missed, advice.

    Where the book does not load no case was run. ``left`` counts the cases that nothing which changed concerns, where
    only the others were asked for; ``unchanged`` that no file changed since all was sound.
    """

    family: str
    problems: tuple[Problem, ...]
    cases: int
    misses: tuple[Problem, ...]
    advice: tuple[Problem, ...] = ()
    left: int = 0
    unchanged: bool = False


@dataclass(slots=True)
class _Family:
    """What is known of a family before its cases are run: ``known`` are cases whose results are remembered.

    ``keys`` are what the results are remembered by, for each case.
    """

    name: str
    memory: m.Memory
    files: str = ""
    keys: dict[str, str] = field(default_factory=dict)
    found: Sequence[Problem] = ()
    cases: Sequence[RegressionCase] = ()
    entries: dict[str, str] = field(default_factory=dict)
    known: list[RegressionCase] = field(default_factory=list)
    due: list[RegressionCase] = field(default_factory=list)
    unchanged: bool = False


def check_families(
    folders: Sequence[Path],
    chosen: Sequence[str],
    refined: bool = False,
    remembered: Path | None = None,
    changed: bool = False,
) -> Iterator[Checked]:
    """Checks families one after the other as they are done, on all cores; see :class:`CaseRunner` for ``refined``.

    With a folder for what is ``remembered`` a case is run again only if program, book or case are others. With
    ``changed`` only those cases are judged that changed or name what did since the family was last sound.
    """
    places = tuple(path.absolute() for path in folders)
    with TemporaryDirectory() as kept, ProcessPoolExecutor(os.cpu_count() or 1, None, _keep_books_in, (kept,)) as pool:
        reading = {name: pool.submit(_read, places, name, refined, remembered, changed) for name in chosen}
        running: dict[str, list[Future[dict[str, list[str]]]]] = {}
        families: dict[str, _Family] = {}
        for name in chosen:
            families[name] = reading[name].result()
            running[name] = [pool.submit(_run, places, name, refined, lot) for lot in _lots(families[name].due)]
        for name in chosen:
            family = families[name]
            missed = {case: misses for lot in running[name] for case, misses in lot.result().items()}
            family.memory.results |= {family.keys[case.id]: missed[case.id] for case in family.due}
            yield _judged(family, refined, remembered, places)


def _judged(family: _Family, refined: bool, remembered: Path | None, places: Sequence[Path]) -> Checked:
    """What was found, all told; how the family stands is remembered if it is sound."""
    judged = [*family.known, *family.due]
    results = {case.id: family.memory.results[family.keys[case.id]] for case in judged}
    misses = tuple(moved(case, miss) for case in judged for miss in results[case.id])
    errors = tuple(problem for problem in family.found if problem.severity == ERROR)
    advice = tuple(problem for problem in family.found if problem.severity != ERROR)
    left = len(family.cases) - len(judged)
    if not family.unchanged:
        if not errors and not misses and not left:
            family.memory.results = {family.keys[case.id]: results[case.id] for case in judged}
            family.memory.files, family.memory.entries = family.files, family.entries
            family.memory.cases = m.case_digests(family.cases)
        m.keep(remembered, m.name_of(places, family.name, refined), family.memory)
    return Checked(family.name, errors, len(judged), misses, advice, left, family.unchanged)


_kept: Path | None = None
"""Where the processes of one run put the books that they have read, for each other."""


def _keep_books_in(folder: str) -> None:
    global _kept
    _kept = Path(folder)
    # A process of one run keeps what it makes to its end; to look for what could be thrown away takes a tenth of it.
    gc.disable()


def _read(folders: tuple[Path, ...], name: str, refined: bool, remembered: Path | None, changed: bool) -> _Family:
    """What is wrong with book and cases, and which cases are due: those of one symptom after another."""
    memory = m.recall(remembered, m.name_of(folders, name, refined))
    files, problems = collect(folders, name)
    family = _Family(name, memory, m.digest_of_files(files))
    if changed and family.files == memory.files:
        family.unchanged = True
        return family
    loaded = load(files, name, problems)
    family.entries = m.digests(loaded.data)
    groups = None
    if changed and memory.entries:
        groups = m.groups_touched(loaded.written, m.changed_ids(memory, family.entries))
    family.found, cases = read(folders, name, groups)
    family.cases = sorted(cases, key=lambda case: (case.fitted, bool(case.squawk), case.symptoms))
    family.keys = {case.id: m.key_of(case, loaded.digest, refined) for case in cases}
    wanted = family.cases if not changed else m.of_what_changed(family.cases, memory, family.entries)
    for case in wanted:
        known = family.keys[case.id] in memory.results
        (family.known if known else family.due).append(case)
    # Whoever has read a book has it at all options; elsewhere it would have to be made anew for a case or two.
    here = [case for case in family.due if case.fitted or (changed and len(family.due) <= FEW)]
    missed = _run(folders, name, refined, here)
    memory.results |= {family.keys[case.id]: missed[case.id] for case in here}
    family.known += here
    family.due = [case for case in family.due if case not in here]
    return family


def read(
    folders: Sequence[Path], family: str, groups: Collection[str] | None = None
) -> tuple[list[Problem], Sequence[RegressionCase]]:
    """What is wrong by form and, where the book loads, by substance; and the cases, none where it does not load.

    With ``groups`` only the options of these are looked at.
    """
    files, problems = collect(folders, family)
    if any(problem.rule == "folder" and Path(problem.position.file).name == family for problem in problems):
        return problems, ()  # a folder whose name is misspelt: all else that is wrong follows of that
    found, drafts = check_at_all_options(files, problems, family, groups)
    cases = read_cases(folders, family)
    practice = read_practice(folders, family)
    if found:
        # What they name may be missing only since its own entry is wrong: they are held against a book that loads.
        beside = (problem for problem in (*cases.problems, *practice.problems) if problem.rule != "unknown-id")
        return [*found, *beside], ()
    loaded = load(files, family, problems)
    told = [*practice.problems, *holding(practice.practice, lambda fitted: outline(loaded, fitted).book)]
    told += fitting(practice.practice, outline(loaded, ()).book)
    more = [*cases.problems, *told, *substance(subject(drafts, groups is None))]
    return more, () if cases.problems else cases.cases


def _lots(cases: Sequence[RegressionCase]) -> Iterator[Sequence[RegressionCase]]:
    """Cases by the handful, with the same options in each, so that few processes have to read the same book."""
    for _, alike in groupby(cases, key=lambda case: case.fitted):
        same = list(alike)
        yield from (same[i : i + AT_ONCE] for i in range(0, len(same), AT_ONCE))


@lru_cache(maxsize=8)
def _runner(folders: tuple[Path, ...], family: str, refined: bool) -> CaseRunner:
    """One for each process, so that a book is read once."""

    def load_with(fitted: tuple[str, ...]) -> Book:
        reading = read_book(folders, family, fitted, None if fitted else _kept)
        if reading.book is None:
            raise FaulttreeError(
                f"with the options of a case, {', '.join(fitted)}, the book of {family} does not load: "
                + "; ".join(str(problem) for problem in reading.problems[:MOST_TOLD])
            )
        return reading.book

    return CaseRunner(load_with, refined)


def _run(folders: tuple[Path, ...], family: str, refined: bool, lot: Sequence[RegressionCase]) -> dict[str, list[str]]:
    """By case what it does not bring out."""
    runner = _runner(folders, family, refined)
    return {case.id: list(runner.run(case).misses) for case in lot}
