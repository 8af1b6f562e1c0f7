"""Draws closed cases from altered rates and tells how near `knowledge rates` comes to them, and what that saves.

    python tests/jobs/rates.py --cases 2000 --jobs 1000 --processes 2

The rates of a book are altered by factors drawn between a third and three, evenly in their logarithm. A squawk is drawn
by the altered rates, then its cause by the altered rates of what brings it about; the log of the case is no longer than
it must be. The error is the mean of |log(rate / true rate)|, weighted by true rate. What that saves is played: the same
gears, drawn from the altered book, are worked by the advice of the book as it was and by that of the book as learned.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the program itself does it

import numpy as np

from faulttree.book.model import THE_SQUAWK, Book
from faulttree.case import CaseEntry
from faulttree.workshop.finds import ClosedCase, written_fault
from faulttree.workshop.rates import Exposure, Learned, learn
from tests.jobs.gear import draw_job, event_holds
from tests.jobs.run import FAMILY, Player, draw_pools, shipped_book

OFF = 3.0
"""Rates are altered by factors from 1 / OFF to OFF."""

GEARS = 1500
"""Gears drawn for each symptom to be worked."""


def with_factors(book: Book, factors: Mapping[str, float]) -> Book:
    """The book with the rate of every fault times the factor of its entry; legs keep their shares."""
    faults = {}
    for name, fault in book.faults.items():
        factor = factors.get(written_fault(fault), 1.0)
        rate = None if fault.rate is None else fault.rate * factor
        chance = fault.probability
        chance = None if chance is None else -math.expm1(math.log1p(-chance) * factor)
        faults[name] = replace(fault, rate=rate, probability=chance)
    return replace(book, faults=faults)


def altered(book: Book, rng: np.random.Generator) -> Book:
    """The book with other rates."""
    names = sorted({written_fault(fault) for fault in book.faults.values()})
    drawn = np.exp(rng.uniform(-1.0, 1.0, len(names)) * math.log(OFF))
    return with_factors(book, dict(zip(names, drawn.tolist(), strict=True)))


def rates_of(book: Book) -> dict[str, float]:
    """Rates by the ids of the files; of a plain probability the rate with the same chance in the usual hours."""
    rates: dict[str, float] = {}
    for fault in book.faults.values():
        rate = fault.rate
        if rate is None:
            rate = -math.log1p(-(fault.probability or 0.0)) * 1000.0 / book.defaults.hours
        rates[written_fault(fault)] = rates.get(written_fault(fault), 0.0) + rate
    return rates


def error(said: Book, true: Book, only: set[str]) -> float:
    """Mean of |log(said / true)| over the faults that can be causes, weighted by true rate."""
    rates, truth = rates_of(said), rates_of(true)
    total = sum(truth[name] for name in only)
    return sum(truth[name] * abs(math.log(rates[name] / truth[name])) for name in only) / total


def causes(book: Book) -> dict[str, list[str]]:
    """The faults of which each alone brings a symptom about, by symptom."""
    return {s: [f for f in book.faults if event_holds(book, s, frozenset([f]))] for s in book.symptoms}


def closed_case(book: Book, number: int, symptom: str, fault: str) -> ClosedCase:
    """The shortest log of a cause that was found, mended, proved and named."""
    action = book.faults[fault].corrected_by[0]
    proof = book.checks[book.symptoms[symptom].proof]
    assert any(outcome.when == THE_SQUAWK for outcome in proof.outcomes)
    new = [
        ("opened", {"family": book.family, "fitted": [], "version": book.version, "digest": book.digest}),
        ("symptom", {"symptom": symptom, "present": True}),
        ("found", {"fault": fault}),
        ("did", {"action": action}),
        ("answer", {"check": proof.id, "outcome": proof.outcomes[-1].id, "sure": True}),
        ("cause", {"fault": fault}),
        ("closed", {}),
    ]  # fmt: skip
    entries = [CaseEntry(i, "", "mechanic", kind, data) for i, (kind, data) in enumerate(new, 1)]
    return ClosedCase(f"case-{number}", entries, book, book)


def draw_cases(book: Book, true: Book, count: int, rng: np.random.Generator) -> list[ClosedCase]:
    """Closed cases of gears with the true rates, worked with ``book``."""
    able = {symptom: faults for symptom, faults in causes(true).items() if faults}
    weight = {f: fault_weight(true, f) for f in true.faults}
    totals = np.array([sum(weight[f] for f in faults) for faults in able.values()])
    symptoms, cases = list(able), []
    for number, place in enumerate(rng.choice(len(symptoms), count, p=totals / totals.sum())):
        faults = able[symptoms[place]]
        chances = np.array([weight[f] for f in faults])
        fault = faults[int(rng.choice(len(faults), p=chances / chances.sum()))]
        cases.append(closed_case(book, number, symptoms[place], fault))
    return cases


def fault_weight(book: Book, fault: str) -> float:
    """How often a fault is a cause, in cases per thousand hours."""
    known = book.faults[fault]
    if known.rate is not None:
        return known.rate
    return -math.log1p(-(known.probability or 0.0)) * 1000.0 / book.defaults.hours


def as_learned(book: Book, learned: Learned) -> Book:
    """The book with what was learned."""
    factors = {}
    for one in learned.rates:
        was, now = one.figure.was, one.figure.now
        factors[one.fault] = now / was if one.per_hours else math.log1p(-now) / math.log1p(-was)
    return with_factors(book, factors)


@dataclass(frozen=True)
class Nearer:
    """Errors before and after, of one family and seed."""

    family: str
    seed: int
    before: float
    after: float


def nearer(family: str, seed: int, count: int) -> tuple[Nearer, Book, Book, Book]:
    """How near the rates come; with the book as it was, the true one and the one learned."""
    book = shipped_book(family)
    rng = np.random.default_rng([seed, 7])
    true = altered(book, rng)
    learned = learn(family, draw_cases(book, true, count, rng))
    after = as_learned(book, learned)
    only = {written_fault(book.faults[f]) for faults in causes(book).values() for f in faults}
    return Nearer(family, seed, error(book, true, only), error(after, true, only)), book, true, after


def main(words: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    a = parser.parse_args(words)
    for f in (FAMILY, "power-pack", "engine-driven"):
        import time
        t = time.time()
        n = nearer(f, a.seed, a.cases)[0]
        print(n, n.after / n.before, time.time() - t)
    return 0


if __name__ == "__main__":
    sys.exit(main())
