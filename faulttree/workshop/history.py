"""The shop's closed cases looked back on: causes by symptom, minutes told against minutes spent, and how far what was
said to be so likely was so."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from faulttree.advice import Advisor, proofs_of, situation_after
from faulttree.belief import Believer, Denied, Did, Evidence, Found, Reported
from faulttree.belief import Entry as BeliefEntry
from faulttree.book.model import Book
from faulttree.case import add_up, minutes_spent
from faulttree.workshop.finds import Alone, ClosedCase, Find, written_fault
from faulttree.workshop.rates import Squawk

LATEST = 300
"""Cases that are looked back on, the latest: each takes a good part of a second."""

EDGES = (0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)
"""Edges of the bins of what was said; below the first nobody looks."""

EXPECTED = 0.5
"""Cases of which a cause that was never found is missed."""

SETS = 2
"""Faults taken to be there at once, which is ten times as fast as three and moves no percentage."""


@dataclass(frozen=True, slots=True)
class Time:
    """Minutes of one case on the clock: told beforehand (the mean, and what 80 % keep to), and spent."""

    case: str
    told: float
    told_80: float
    spent: float


@dataclass(frozen=True, slots=True)
class Bin:
    """Of ``count`` causes that were said to be so likely, ``said`` in the mean, before anything was found or repaired:
    the part that it ``was``."""

    low: float
    high: float
    count: int
    said: float
    was: float


@dataclass(frozen=True, slots=True)
class Count:
    """How often a fault, by the id of the files, was found behind a symptom, and how often the book expects it among
    as many cases."""

    fault: str
    found: int
    expected: float


@dataclass(frozen=True)
class History:
    """``causes`` by the id of a symptom, the commonest first, those never found and hardly expected left out;
    ``looked_at`` the number of cases that minutes and calibration are of."""

    causes: Mapping[str, tuple[Count, ...]]
    minutes: tuple[Time, ...]
    calibration: tuple[Bin, ...]
    looked_at: int


def look_back(cases: Sequence[ClosedCase], finds: Sequence[Find]) -> History:
    """The history of closed cases, the latest last; minutes are of all, the rest of those with a cause found."""
    by_name = {find.case: find for find in finds}
    judges: dict[int, _Judge] = {}
    minutes, said = [], list[tuple[float, bool]]()
    latest = cases[-LATEST:]
    for case in latest:
        judge = judges.setdefault(id(case.book), _Judge(case.book))
        time = judge.time(case)
        minutes += [time] if time is not None else []
        if case.name in by_name:
            said += judge.said(case)
    found = [(case, by_name[case.name]) for case in cases if case.name in by_name]
    return History(_causes(found), tuple(minutes), tuple(_bins(said)), len(latest))


def _causes(found: Sequence[tuple[ClosedCase, Find]]) -> dict[str, tuple[Count, ...]]:
    counts: dict[str, Counter[str]] = {}
    expected: dict[str, Counter[str]] = {}
    alone: dict[int, Alone] = {}
    shares: dict[Squawk, dict[str, float]] = {}
    for case, find in found:
        squawk = Squawk(alone.setdefault(id(case.today), Alone(case.today)), find)
        if squawk not in shares:
            weights = squawk.weights()
            shares[squawk] = {fault: weight / sum(weights.values()) for fault, weight in weights.items()}
        for symptom in find.symptoms:
            counts.setdefault(symptom, Counter())[written_fault(case.today.faults[find.fault])] += 1
            expected.setdefault(symptom, Counter()).update(shares[squawk])
    told = {}
    for symptom, count in sorted(counts.items(), key=lambda item: (-item[1].total(), item[0])):
        likely = [fault for fault, e in expected[symptom].items() if e >= EXPECTED]
        rows = [Count(f, count[f], float(expected[symptom][f])) for f in dict.fromkeys([*count, *likely])]
        told[symptom] = tuple(sorted(rows, key=lambda row: (-row.found, -row.expected, row.fault)))
    return told


class _Judge:
    """What the book of a case said at the time; the same squawk is not judged twice."""

    def __init__(self, book: Book) -> None:
        self.book, self.believer, self.advisor = book, Believer(book, SETS), Advisor(book)
        self._times: dict[Evidence, tuple[float, float] | None] = {}

    def time(self, case: ClosedCase) -> Time | None:
        """Minutes told after the squawk, and spent; None where the log has no clock."""
        spent = minutes_spent(case.entries)
        state = add_up(self.book, case.entries)
        squawk = _until(state.evidence, lambda e: not isinstance(e, Reported | Denied))
        evidence = Evidence(squawk, tuple(state.circumstances), state.hours)
        if spent <= 0.0 or not squawk:
            return None
        if evidence not in self._times:
            self._times[evidence] = self._told(evidence)
        told = self._times[evidence]
        return None if told is None else Time(case.name, *told, spent)

    def _told(self, evidence: Evidence) -> tuple[float, float] | None:
        symptoms = [e.symptom for e in evidence.entries if isinstance(e, Reported)]
        situation = situation_after(self.book, evidence.entries, proofs_of(self.book, symptoms))
        to_go = self.advisor.advise(self.believer.believe(evidence), situation).to_go
        return None if to_go is None else (to_go.mean, to_go.p80)

    def said(self, case: ClosedCase) -> Iterator[tuple[float, bool]]:
        """Each cause's probability before anything was found or repaired, and whether it was the cause."""
        state = add_up(self.book, case.entries)
        before = _until(state.evidence, lambda e: isinstance(e, Did | Found))
        belief = self.believer.believe(Evidence(before, tuple(state.circumstances), state.hours))
        for fault, probability in belief.as_it_was.items():
            if probability >= EDGES[0]:
                yield probability, fault in state.causes


def _until(evidence: Sequence[BeliefEntry], ends: Callable[[BeliefEntry], bool]) -> tuple[BeliefEntry, ...]:
    """The evidence before the first piece with which it ``ends``."""
    return tuple(takewhile(lambda entry: not ends(entry), evidence))


def _bins(said: Sequence[tuple[float, bool]]) -> Iterator[Bin]:
    for low, high in pairwise(EDGES):
        within = [(p, was) for p, was in said if low <= p < high or (p == high == EDGES[-1])]
        if within:
            count = len(within)
            mean = sum(p for p, _ in within) / count
            yield Bin(low, high, count, mean, sum(was for _, was in within) / count)
