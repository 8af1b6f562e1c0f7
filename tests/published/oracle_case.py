"""A case as :mod:`tests.published.oracle` sees it: the numbers of the model, and what was observed, by epoch."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, get_args

from faulttree.belief import Answer, Denied, Did, Evidence, Found, Reported
from faulttree.book.model import THE_SQUAWK, Book, Check, Fault, Outcome
from tests.support.random_books import faults_below

ABSENT, HARD, COMES_AND_GOES = range(3)
Spoken = Reported | Denied
Told = Answer | Found
Order = Literal["book", "alike", "few looks first", "many looks first", "last first"]
ORDERS: tuple[Order, ...] = get_args(Order)


# ------------------------------------------------------------------------------------------ numbers of the model


def mode_priors(book: Book, fault: Fault, evidence: Evidence) -> tuple[float, float]:
    """Prior of the hard mode and of the one that comes and goes."""
    hours = book.defaults.hours if evidence.hours is None else evidence.hours
    mean = -math.log1p(-fault.probability) if fault.rate is None else fault.rate * hours / 1000.0
    factors = [1.0, 1.0]
    for name in evidence.circumstances:
        around = book.circumstances[name]
        for mode in (0, 1):
            if name in fault.promoted_by:
                factors[mode] *= around.promotes[mode]
            if name in fault.demoted_by:
                factors[mode] *= around.demotes[mode]
            if 0.0 < fault.share < 1.0:
                factors[mode] *= around.intermittent[mode]
        if fault.share == 0.0:
            factors[0] *= around.steady
    low, high = book.defaults.factor_low, book.defaults.factor_high
    hard, sleeping = (min(max(factor, low), high) for factor in factors)
    return -math.expm1(-mean * (1.0 - fault.share) * hard), -math.expm1(-mean * fault.share * sleeping)


def matrix(check: Check) -> list[list[float]]:
    """Chance of each shown outcome (row) given the true one (column)."""
    if check.matrix is not None:
        return [list(row) for row in check.matrix]
    k = len(check.outcomes)
    sound = [check.false_alarm / (k - 1)] * (k - 1) + [1.0 - check.false_alarm]
    columns = []
    for true, outcome in enumerate(check.outcomes[:-1]):
        missed = (1.0 - outcome.detects) / (1.0 - sound[true])
        columns.append([outcome.detects if shown == true else missed * sound[shown] for shown in range(k)])
    columns.append(sound)
    return [[column[shown] for column in columns] for shown in range(k)]


def seeing(book: Book, fault: str) -> Check:
    """The find of a fault as a check of it."""
    d = book.defaults
    outcomes = (Outcome("found", "found", fault, d.found_detects), Outcome("not", "not", None, 1.0))
    return Check(f"found {fault}", "", "look", "found", outcomes, d.found_false_alarm, 0.0, fresh=d.fresh)


def urn(column: Sequence[float], fresh: float, answers: Sequence[Sequence[float]]) -> float:
    """Chance of answers to one check in one epoch, readings summed over, each reading drawn from ``column``."""
    total = 0.0
    for shown in itertools.product(range(len(column)), repeat=len(answers)):
        chance = 1.0
        for n, (reading, weights) in enumerate(zip(shown, answers, strict=True)):
            again = n * (1.0 - fresh) / (fresh + n * (1.0 - fresh))
            copied = shown[:n].count(reading) / n if n else 0.0
            chance *= weights[reading] * (again * copied + (1.0 - again) * column[reading])
        total += chance
    return total


# ------------------------------------------------------------------------------------------------- observations


@dataclass(frozen=True)
class Seen:
    """One observation: the entry, how many actions came before it, and its place in the log."""

    entry: Spoken | Told
    epoch: int
    place: int


@dataclass(frozen=True)
class Case:
    """A book and what was observed, sorted by kind."""

    book: Book
    evidence: Evidence

    @cached_property
    def actions(self) -> list[str]:
        return [entry.action for entry in self.evidence.entries if isinstance(entry, Did)]

    @cached_property
    def seen(self) -> list[Seen]:
        """All observations; a symptom said again in the same epoch is dropped."""
        out: list[Seen] = []
        epoch = 0
        for place, entry in enumerate(self.evidence.entries):
            if isinstance(entry, Did):
                epoch += 1
            elif not isinstance(entry, Spoken) or all((s.entry, s.epoch) != (entry, epoch) for s in out):
                out.append(Seen(entry, epoch, place))
        return out

    @cached_property
    def symptoms(self) -> list[Seen]:
        """Those that frame the case: said before any action."""
        return [s for s in self.seen if isinstance(s.entry, Spoken) and s.epoch == 0]

    @cached_property
    def answers(self) -> list[Seen]:
        return [s for s in self.seen if s not in self.symptoms]

    @cached_property
    def priors(self) -> dict[str, tuple[float, float]]:
        """Priors of both modes by fault."""
        return {f.id: mode_priors(self.book, f, self.evidence) for f in self.book.faults.values()}

    @cached_property
    def ranks(self) -> dict[Order, dict[str, tuple[object, ...]]]:
        """Orders of the faults for the chains of a network, as keys to sort by."""
        looks: dict[str, list[tuple[int, int]]] = {fault: [] for fault in self.book.faults}
        for seen in self.seen:
            for n, item in enumerate(self.looked_at(seen)):
                for fault in faults_below(self.book, [item]):
                    looks[fault].append((seen.place, n))
        place = {fault: n for n, fault in enumerate(self.book.faults)}
        return {
            "book": {f: (place[f],) for f in place},
            "alike": {f: (looks[f], place[f]) for f in place},
            "few looks first": {f: (len(looks[f]), looks[f], place[f]) for f in place},
            "many looks first": {f: (-len(looks[f]), looks[f], place[f]) for f in place},
            "last first": {f: (-place[f],) for f in place},
        }

    def looked_at(self, seen: Seen) -> list[str]:
        if isinstance(seen.entry, Spoken):
            return [seen.entry.symptom]
        whens = [outcome.when or "" for outcome in self.check(seen.entry).outcomes]
        return [when for when in whens if when and when != THE_SQUAWK]

    @cached_property
    def unlisted_prior(self) -> float:
        shares = [self.book.symptoms[s.entry.symptom].unlisted for s in self.symptoms if isinstance(s.entry, Reported)]
        return max(shares, default=0.0)

    def squawk(self, epoch: int) -> list[str]:
        """Symptoms reported before the last action; before there is any action, those reported."""
        before = max(epoch, 1)
        said = [s.entry.symptom for s in self.seen if isinstance(s.entry, Reported) and s.epoch < before]
        return list(dict.fromkeys(said))

    def check(self, entry: Told) -> Check:
        return seeing(self.book, entry.fault) if isinstance(entry, Found) else self.book.checks[entry.check]

    def readings(self, check: Check, epoch: int) -> list[Seen]:
        return [s for s in self.seen if isinstance(s.entry, Told) and s.epoch == epoch and self.check(s.entry) == check]


def weights(entry: Told) -> tuple[float, ...]:
    return (1.0, 0.0) if isinstance(entry, Found) else entry.weights
