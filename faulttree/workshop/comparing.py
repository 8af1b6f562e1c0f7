"""Two books of one family held against each other: what differs in entries, and what that does to the advice."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from faulttree.belief import Believer, Evidence, Reported
from faulttree.book import Book, read_book, read_cases
from faulttree.book.cases import RegressionCase
from faulttree.book.files import collect
from faulttree.book.positions import Problem
from faulttree.book.reader import Loaded, build, load
from faulttree.errors import FaulttreeError
from faulttree.workshop.memory import case_digests
from faulttree.workshop.regression import CaseRunner, evidence_of

FIRST = 3
"""So many components are looked at; what stands behind them decides no step."""

MOVED = 0.02
"""A share that changes by less is not told, as long as the order stays."""

Shares = tuple[tuple[str, float], ...]


class NotSound(FaulttreeError):
    """A book that has errors cannot be compared."""


@dataclass(frozen=True, slots=True)
class EntryChange:
    """An entry ``added``, ``amended``, ``retired``, or ``missing`` where only the first has it.

    ``fields`` hold what was and what is, ``None`` for not there.

    ``reason`` is why, as far as it is said; of an amendment also by whom and when.
    """

    section: str
    id: str
    what: str
    fields: Mapping[str, tuple[Any, Any]]
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class OrderChange:
    """A symptom (at the usual options) or a case: its first components with their shares before and after.

    ``by`` is the largest change of a share. ``missed`` and ``misses`` are what a case did not bring out, and does not.
    """

    id: str
    name: str
    before: Shares
    after: Shares
    by: float
    missed: tuple[str, ...] = ()
    misses: tuple[str, ...] = ()

    @property
    def reordered(self) -> bool:
        """Whether other components come first, or in another order."""
        return [name for name, _ in self.before] != [name for name, _ in self.after]

    @property
    def counts(self) -> bool:
        """Whether it is worth telling: a share moves, or another component leads."""
        return self.by >= MOVED or [name for name, _ in self.before[:1]] != [name for name, _ in self.after[:1]]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two books of a family. Of the cases those that both have, word for word, are worked; none
    of them where the books are the ``same`` and only cases differ, if anything. ``unread`` counts what is wrong with
    cases beside the second, which are left out."""

    family: str
    entries: tuple[EntryChange, ...]
    symptoms: tuple[OrderChange, ...]
    cases: tuple[OrderChange, ...]
    worked: int
    same: bool = False
    unread: int = 0


Folders = tuple[Path, ...]


def compare(before: Sequence[Path], after: Sequence[Path], family: str) -> Comparison:
    """Holds the family's book in the one list of folders against that in the other. Raises NotSound."""
    old, new = tuple(before), tuple(after)
    first, second = _loaded(old, family), _loaded(new, family)
    entries = (*_entries(first, second), *_case_entries(old, new, family))
    beside = read_cases(new, family)
    if first.digest == second.digest:
        return Comparison(family, entries, (), (), 0, same=True, unread=len(beside.problems))
    symptoms = [*_book(old, family, ()).symptoms.keys() & _book(new, family, ()).symptoms.keys()]
    known = case_digests(read_cases(old, family).cases)
    shared = [c for c in beside.cases if case_digests([c])[c.id] == known.get(c.id)]
    with ProcessPoolExecutor(os.cpu_count() or 1) as pool:
        pairs = [(old, new, family)]
        orders = pool.map(_symptom, pairs * len(symptoms), symptoms, chunksize=8)
        cases = pool.map(_case, pairs * len(shared), shared, chunksize=8)
        moved = sorted((o for o in orders if o is not None), key=lambda o: (not o.reordered, -o.by, o.id))
        worked = sorted((c for c in cases if c is not None), key=lambda c: (c.misses == c.missed, -c.by, c.id))
    return Comparison(family, entries, tuple(moved), tuple(worked), len(shared), unread=len(beside.problems))


def _loaded(folders: Folders, family: str) -> Loaded:
    files, problems = collect(folders, family)
    loaded = load(files, family, problems)
    book, more = build(loaded, ())
    if book is None:
        told = [*loaded.problems, *more]
        raise NotSound(_told(family, folders, told))
    return loaded


def _told(family: str, folders: Folders, problems: Sequence[Problem]) -> str:
    """The first error, and how many there are."""
    if len(problems) == 1:
        return f"{family} in {folders[-1]} has an error: {problems[0]}"
    return f"{family} in {folders[-1]} has {len(problems)} errors; the first is {problems[0]}"


def _entries(first: Loaded, second: Loaded) -> Iterator[EntryChange]:
    old, new = first.data, second.data
    for section, entries in new.items():
        gone = second.written.retired[section]
        for name in (*old[section], *(name for name in entries if name not in old[section])):
            was, now = _fields(old[section].get(name)), _fields(entries.get(name))
            differ = {key: (was.get(key), now.get(key)) for key in (*was, *now) if was.get(key) != now.get(key)}
            if name not in old[section]:
                yield EntryChange(section, name, "added", {})
            elif name not in entries:
                yield (
                    EntryChange(section, name, "retired", {}, gone[name].reason)
                    if name in gone
                    else EntryChange(section, name, "missing", {})
                )
            elif differ:
                yield EntryChange(section, name, "amended", differ, _why(first, second, section, name))


def _why(first: Loaded, second: Loaded, section: str, name: str) -> str | None:
    """What the second says of its amendments that the first does not have."""
    known = {one.where for one in first.written.entries[section][name].amendments}
    said = [one.said for one in second.written.entries[section][name].amendments if one.where not in known]
    return "; ".join(words for words in said if words) or None


def _fields(data: Any) -> dict[str, Any]:
    return data if isinstance(data, dict) else {"words": data} if data is not None else {}


def _case_entries(old: Folders, new: Folders, family: str) -> Iterator[EntryChange]:
    was, now = case_digests(read_cases(old, family).cases), case_digests(read_cases(new, family).cases)
    for name in (*was, *(name for name in now if name not in was)):
        if was.get(name) != now.get(name):
            what = "added" if name not in was else "retired" if name not in now else "amended"
            yield EntryChange("cases", name, what, {})


@lru_cache(maxsize=32)
def _book(folders: Folders, family: str, fitted: tuple[str, ...]) -> Book:
    """One for each process."""
    reading = read_book(folders, family, fitted)
    if reading.book is None:
        raise NotSound(f"{family} in {folders[-1]} does not load: {reading.problems[0]}")
    return reading.book


@lru_cache(maxsize=32)
def _believer(folders: Folders, family: str, fitted: tuple[str, ...]) -> Believer:
    return Believer(_book(folders, family, fitted), 2)


@lru_cache(maxsize=4)
def _runner(folders: Folders, family: str) -> CaseRunner:
    return CaseRunner(lambda fitted: _book(folders, family, fitted))


def _first(folders: Folders, family: str, fitted: tuple[str, ...], evidence: Evidence) -> dict[str, float]:
    """The components that come first, with their shares in a hundred."""
    share = _believer(folders, family, fitted).believe(evidence).components
    return {name: share[name] for name in sorted(share, key=lambda name: (-share[name], name))}


def _change(name: str, told: str, was: dict[str, float], now: dict[str, float]) -> OrderChange:
    before, after = tuple(was.items())[:FIRST], tuple(now.items())[:FIRST]
    named = {component for component, _ in (*before, *after)}
    by = max((abs(now.get(one, 0.0) - was.get(one, 0.0)) for one in named), default=0.0)
    return OrderChange(name, told, before, after, by)


def _symptom(where: tuple[Folders, Folders, str], symptom: str) -> OrderChange | None:
    old, new, family = where
    evidence = Evidence((Reported(symptom),), (), None)
    found = _change(
        symptom,
        _book(new, family, ()).symptoms[symptom].name,
        _first(old, family, (), evidence),
        _first(new, family, (), evidence),
    )
    return found if found.counts else None


def _case(where: tuple[Folders, Folders, str], case: RegressionCase) -> OrderChange | None:
    old, new, family = where
    shares = [
        _first(folders, family, case.fitted, evidence_of(_book(folders, family, case.fitted), case))
        for folders in (old, new)
    ]
    found = _change(case.id, case.description, *shares)
    missed, misses = (_runner(folders, family).run(case).misses for folders in (old, new))
    found = OrderChange(found.id, found.name, found.before, found.after, found.by, missed, misses)
    return found if found.counts or missed != misses else None
