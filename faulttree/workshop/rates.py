"""Rates and accuracies learned from closed cases: the book's figures as a prior, what was found as the data.

*Rates.* The factor of a fault on its book rate has a gamma prior of mean 1 and shape STRENGTH: the book counts as that
many failures. After n finds where the book expects e its mean is (STRENGTH + n) / (STRENGTH + e), the gamma-Poisson
update (Hamada, Wilson, Reese, Martz, Bayesian Reliability, 2008, 4.2.2). With the hours that the gears flew, e is the
book's rate times hours. Without, a symptom is taken as watched for as long as makes the number of its cases the
expected one: then what is learned are the shares within a symptom, and e is shared out among the faults that can bring
the squawk about, by the rates as learned so far, until nothing changes (Dempster, Laird, Rubin, 1977).

*Accuracies.* A beta prior with the book's mean that counts as CHECK_STRENGTH answers.

*Held.* However surprising, a few cases are a few: for every five cases no figure moves by more than a fifth.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from faulttree.belief.priors import mode_priors
from faulttree.book.model import Book, Fault
from faulttree.workshop.conjugate import Beta, Gamma
from faulttree.workshop.finds import Alone, ClosedCase, Find, Tally, find_in, tallies, written_check, written_fault

STRENGTH = 5.0
"""Failures that a rate of the book counts for. A gamma of shape 5 has nine tenths between 0.39 and 1.83 of its mean:
the book's estimates are good within a factor of two or three (knowledge/README.md)."""

CHECK_STRENGTH = 50.0
"""Answers that an accuracy of the book counts for."""

UP, DOWN, LOT = 1.2, 0.8, 5
"""For every LOT of cases a figure moves up by no more than the factor UP, down by no more than DOWN."""

ROUNDS, STILL = 500, 1e-9
"""Rounds of sharing out at most; the change of a factor below which nothing changes any more."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the book, ``was``, and what the cases make of it, ``now``, with the interval that holds 90 %.

    ``held`` tells that the count alone, ``by_count``, would move it further than so few cases may.
    """

    was: float
    now: float
    low: float
    high: float
    by_count: float

    @property
    def held(self) -> bool:
        """Whether it was kept from moving further."""
        return not math.isclose(self.now, self.by_count, rel_tol=1e-9)

    @property
    def factor(self) -> float:
        """now / was."""
        return self.now / self.was


@dataclass(frozen=True, slots=True)
class LearnedRate:
    """One fault as it stands in the files, its legs together. ``per_hours``: whether the figure is a rate (per 1000
    flight hours) and not a plain probability. ``found`` and ``expected`` are numbers of cases."""

    fault: str
    per_hours: bool
    found: int
    expected: float
    figure: Figure


@dataclass(frozen=True, slots=True)
class LearnedAccuracy:
    """``detects`` or ``false_alarm`` (``what``) of a check as it stands in the files, of one outcome where the book
    states it so. ``right`` and ``wrong`` are numbers of answers; parts of one where a cause may have slept."""

    check: str
    what: str
    outcome: str | None
    right: float
    wrong: float
    figure: Figure


@dataclass(frozen=True, slots=True)
class Exposure:
    """Hours flown by gears with the same options, whose book is ``book``."""

    hours: float
    book: Book


@dataclass(frozen=True)
class Learned:
    """What the closed cases of one family teach. ``left_out`` names the cases that do not count, by the reason;
    ``hours`` is None where only the shares within a symptom were learned."""

    family: str
    finds: tuple[Find, ...]
    left_out: Mapping[str, tuple[str, ...]]
    hours: float | None
    rates: tuple[LearnedRate, ...]
    accuracies: tuple[LearnedAccuracy, ...]


def learn(
    family: str, cases: Sequence[ClosedCase], exposures: Sequence[Exposure] = (), squawks: Sequence[Sequence[str]] = ()
) -> Learned:
    """What the cases teach. ``squawks`` are the symptoms of all cases of the family, closed or not: where in part of
    them no cause was found, the hours count for as much less."""
    alone: dict[int, Alone] = {}
    finds: list[tuple[Find, Alone]] = []
    left_out: dict[str, list[str]] = {}
    for case in cases:
        one = alone.setdefault(id(case.today), Alone(case.today))
        found = find_in(case, one)
        if isinstance(found, Find):
            finds.append((found, one))
        else:
            left_out.setdefault(found, []).append(case.name)
    books = [exposure.book for exposure in exposures] + [one.book for one in alone.values()]
    shares = Shares(finds)
    expected = shares.expected
    if exposures:
        expected = {**expected, **_by_hours(exposures, finds, squawks)}
    return Learned(
        family, tuple(find for find, _ in finds), {why: tuple(names) for why, names in left_out.items()},
        sum(exposure.hours for exposure in exposures) if exposures else None,
        tuple(_rates(books, shares.found, expected, len(finds))), tuple(_accuracies(finds)),
    )  # fmt: skip


class Shares:
    """Finds, and what the book would expect, shared out within the symptoms; by the ids of the files."""

    def __init__(self, finds: Sequence[tuple[Find, Alone]]) -> None:
        self.found = Counter(written_fault(one.book.faults[find.fault]) for find, one in finds)
        groups = Counter(Squawk(one, find) for find, one in finds)
        self._groups = [(count, squawk.weights()) for squawk, count in groups.items()]
        self.expected = self._share_out()

    def _share_out(self) -> dict[str, float]:
        """Numbers expected at the book's rates, in the time in which those as learned give as many cases as there
        were. Starts from the book's."""
        factors = {fault: 1.0 for _, weights in self._groups for fault in weights}
        expected = dict.fromkeys(factors, 0.0)
        for _ in range(ROUNDS):
            expected = dict.fromkeys(factors, 0.0)
            for count, weights in self._groups:
                total = sum(weight * factors[fault] for fault, weight in weights.items())
                for fault, weight in weights.items():
                    expected[fault] += count * weight / total
            moved = 0.0
            for fault, e in expected.items():
                factor = (STRENGTH + self.found[fault]) / (STRENGTH + e)
                moved, factors[fault] = max(moved, abs(factor - factors[fault])), factor
            if moved < STILL:
                break
        return expected


class Squawk:
    """What makes two finds alike beforehand: aircraft of the same options, the same squawk and circumstances."""

    def __init__(self, alone: Alone, find: Find) -> None:
        self.alone, self.find = alone, find
        self.key = (id(alone), find.symptoms, find.denied, tuple(sorted(find.circumstances)), find.hours)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Squawk) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)

    def weights(self) -> dict[str, float]:
        """The chance beforehand of each fault that alone can bring the squawk about, legs together."""
        book, find = self.alone.book, self.find
        known = [name for name in find.circumstances if name in book.circumstances]
        weights: dict[str, float] = {}
        for name in self.alone.bring(find.symptoms):
            fault = book.faults[name]
            prior = mode_priors(book, fault, known, find.hours or book.defaults.hours)
            weight = prior.hard + prior.comes_and_goes
            for denied in find.denied:
                if self.alone.brings(name, denied):
                    weight *= 1.0 - book.symptoms[denied].noticed
            weights[written_fault(fault)] = weights.get(written_fault(fault), 0.0) + weight
        return weights


def _by_hours(
    exposures: Sequence[Exposure], finds: Sequence[tuple[Find, Alone]], squawks: Sequence[Sequence[str]]
) -> dict[str, float]:
    """Numbers expected of every fault that has a rate, less the part of the squawks of which no cause was found."""
    expected: dict[str, float] = {}
    for exposure in exposures:
        alone = Alone(exposure.book)
        seen: dict[tuple[str, ...], float] = {}
        for fault in exposure.book.faults.values():
            brings = tuple(s for s in exposure.book.symptoms if alone.brings(fault.id, s))
            # What brings no squawk about alone is never found as a cause: of it the hours tell nothing.
            if fault.rate is not None and brings:
                if brings not in seen:
                    seen[brings] = _part_found(set(brings), finds, squawks)
                share = fault.rate * exposure.hours / 1000.0 * seen[brings]
                expected[written_fault(fault)] = expected.get(written_fault(fault), 0.0) + share
    return expected


def _part_found(symptoms: set[str], finds: Sequence[tuple[Find, Alone]], squawks: Sequence[Sequence[str]]) -> float:
    """Of the squawks with any of the symptoms, the part of which the cause was found; 1 where there were none."""
    found = sum(not symptoms.isdisjoint(find.symptoms) for find, _ in finds)
    every = sum(not symptoms.isdisjoint(squawk) for squawk in squawks)
    return found / every if every > found else 1.0


def _rates(
    books: Sequence[Book], found: Mapping[str, int], expected: Mapping[str, float], cases: int
) -> list[LearnedRate]:
    stated: dict[str, dict[str, Fault]] = {}
    for book in books:
        for fault in book.faults.values():
            stated.setdefault(written_fault(fault), {}).setdefault(fault.id, fault)
    learned = []
    for name, legs in stated.items():
        if name not in expected:
            continue
        per_hours = all(fault.rate is not None for fault in legs.values())
        was = sum((fault.rate if per_hours else fault.probability) or 0.0 for fault in legs.values())
        belief = Gamma(STRENGTH, STRENGTH).updated(found.get(name, 0), expected[name])
        low, high = belief.interval()
        factors = (_held(belief.mean, cases), low, high, belief.mean)
        now, low, high, by_count = (was * f if per_hours else _chance(was, f) for f in factors)
        figure = Figure(was, now, low, high, by_count)
        learned.append(LearnedRate(name, per_hours, found.get(name, 0), expected[name], figure))
    return sorted(learned, key=lambda one: (-abs(math.log(one.figure.factor)), one.fault))


def _chance(probability: float, factor: float) -> float:
    """A plain probability is the chance of a rate in the usual hours; the factor is on that rate."""
    return -math.expm1(math.log1p(-probability) * factor)


def _held(factor: float, cases: int) -> float:
    lots = cases / LOT
    return min(max(factor, math.pow(DOWN, lots)), math.pow(UP, lots))


def _accuracies(finds: Sequence[tuple[Find, Alone]]) -> list[LearnedAccuracy]:
    """By check, what the book states once for all its outcomes taken together."""
    by_book: dict[int, tuple[Book, list[Find]]] = {}
    for find, alone in finds:
        by_book.setdefault(id(alone.book), (alone.book, []))[1].append(find)
    tallied: dict[str, Tally] = {}
    books: dict[str, Book] = {}
    for book, found in by_book.values():
        for name, tally in tallies(book, [reading for find in found for reading in find.readings]).items():
            books.setdefault(name, book)
            _add(tallied.setdefault(name, Tally({}, {})), tally)
    learned = [one for name, tally in tallied.items() for one in _of_check(books[name], name, tally, len(finds))]
    return sorted(learned, key=lambda one: (-abs(one.figure.now - one.figure.was), one.check, one.outcome or ""))


def _add(total: Tally, more: Tally) -> None:
    for into, these in ((total.shown, more.shown), (total.missed, more.missed)):
        for outcome, number in these.items():
            into[outcome] = into.get(outcome, 0.0) + number
    total.quiet += more.quiet
    total.alarms += more.alarms


def _of_check(book: Book, name: str, tally: Tally, cases: int) -> list[LearnedAccuracy]:
    check = next(c for c in book.checks.values() if written_check(c) == name)
    if check.matrix is not None:
        return []
    learned = []
    stated = {o.id: o.detects for o in check.outcomes[:-1]}
    as_one = len(set(stated.values())) == 1
    for outcomes in [list(stated)] if as_one else [[outcome] for outcome in stated]:
        right, wrong = (sum(side.get(o, 0.0) for o in outcomes) for side in (tally.shown, tally.missed))
        if right + wrong > 0.0:
            figure = _accuracy(stated[outcomes[0]], right, wrong, cases)
            learned.append(LearnedAccuracy(name, "detects", None if as_one else outcomes[0], right, wrong, figure))
    if tally.quiet + tally.alarms > 0.0:
        figure = _accuracy(check.false_alarm, tally.alarms, tally.quiet, cases)
        learned.append(LearnedAccuracy(name, "false_alarm", None, tally.quiet, tally.alarms, figure))
    return learned


def _accuracy(was: float, times: float, others: float, cases: int) -> Figure:
    """The beta update of a probability that came true so many times of so many; neither end is ever reached. Held is
    the rarer side, of which a few answers move most."""
    start = min(max(was, 1e-3), 1.0 - 1e-3)
    belief = Beta(CHECK_STRENGTH * start, CHECK_STRENGTH * (1.0 - start)).updated(times, others)
    low, high = belief.interval()
    mean = belief.mean
    if (times == 0.0 and was == 0.0) or (others == 0.0 and was == 1.0):
        return Figure(was, was, low, high, was)  # what never erred may go on to be said so
    rare, was_rare = (mean, start) if start <= 0.5 else (1.0 - mean, 1.0 - start)
    held = was_rare * _held(rare / was_rare, cases)
    return Figure(was, held if start <= 0.5 else 1.0 - held, low, high, mean)
