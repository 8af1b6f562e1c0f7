"""Draws closed cases from altered rates and tells how near `knowledge rates` comes to them, and what that saves.

    python tests/jobs/rates.py --cases 2000 --jobs 5400 --processes 2
    python tests/jobs/rates.py --cases 2000 --all-ways 0.02 --seeds 1 --processes 2

The rates of a book are altered by factors drawn between a third and three, evenly in their logarithm. A squawk is drawn
by the altered rates, then its cause by the altered rates of what brings it about; the log of the case is no longer than
it must be. The error is the mean of |log(rate / true rate)|, weighted by true rate. What that saves is played: the same
gears, drawn from the altered book, are worked by the advice of the book as it was and by that of the book as learned.
With ``--all-ways`` no gear is drawn: each squawk branches into all that checks may show, by the altered book, down to
that chance, which tells the difference without the noise of drawing (`tests/jobs/all_ways.py`).
"""

from __future__ import annotations

import argparse
import math
import os
import sys
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the program itself does it

import numpy as np

from faulttree.book.model import THE_SQUAWK, Book
from faulttree.case import CaseEntry
from faulttree.workshop.finds import ClosedCase, written_fault
from faulttree.workshop.rates import Exposure, Learned, learn
from tests.jobs.all_ways import AllWays
from tests.jobs.every_fault import to_meet
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


def draw_cases(book: Book, true: Book, count: int, rng: np.random.Generator, by_symptom: bool) -> list[ClosedCase]:
    """Closed cases of gears with the true rates, worked with ``book``.

    With ``by_symptom`` a squawk is drawn by the true rates of what brings it about, then its cause by the true rates.
    Else a cause is drawn, as faults come with the hours, then one of the squawks that it brings about.
    """
    able = {symptom: faults for symptom, faults in causes(true).items() if faults}
    weight = {f: fault_weight(true, f) for f in true.faults}
    first = able if by_symptom else _turned(able)
    totals = np.array([sum(weight[f] for f in faults) if by_symptom else weight[one] for one, faults in first.items()])
    names, cases = list(first), []
    for number, place in enumerate(rng.choice(len(names), count, p=totals / totals.sum())):
        rest = first[names[place]]
        chances = np.array([weight[one] if by_symptom else 1.0 for one in rest])
        other = rest[int(rng.choice(len(rest), p=chances / chances.sum()))]
        symptom, fault = (names[place], other) if by_symptom else (other, names[place])
        cases.append(closed_case(book, number, symptom, fault))
    return cases


def _turned(able: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """The symptoms that each fault alone brings about."""
    found: dict[str, list[str]] = {}
    for symptom, faults in able.items():
        for fault in faults:
            found.setdefault(fault, []).append(symptom)
    return found


def fault_weight(book: Book, fault: str) -> float:
    """How often a fault comes, in times per thousand hours."""
    known = book.faults[fault]
    if known.rate is not None:
        return known.rate
    return -math.log1p(-(known.probability or 0.0)) * 1000.0 / book.defaults.hours


def hours_of(true: Book, count: int) -> float:
    """The hours in which gears with the true rates are expected to have so many squawks."""
    return count * 1000.0 / sum(fault_weight(true, fault) for fault in _turned(causes(true)))


def as_learned(book: Book, learned: Learned) -> Book:
    """The book with what was learned."""
    factors = {}
    for one in learned.rates:
        was, now = one.figure.was, one.figure.now
        factors[one.fault] = now / was if one.per_hours else math.log1p(-now) / math.log1p(-was)
    return with_factors(book, factors)


@dataclass(frozen=True)
class Nearer:
    """One family and seed: the true book, those learned with and without the hours, the errors of the rates of each
    and of the book as it was. ``furthest`` is the largest factor, up or down, by which a rate moved."""

    true: Book
    by_hours: Book
    by_shares: Book
    before: float
    with_hours: float
    without: float
    furthest: float


def nearer(book: Book, seed: int, count: int) -> Nearer:
    """How near the rates come to altered ones by so many cases."""
    rng = np.random.default_rng([seed, 7])
    true = altered(book, rng)
    only = {written_fault(book.faults[f]) for faults in causes(book).values() for f in faults}
    flown = [Exposure(hours_of(true, count), book)]
    by_hours = learn(book.family, draw_cases(book, true, count, rng, False), flown)
    by_shares = learn(book.family, draw_cases(book, true, count, rng, True))
    factors = [one.figure.factor for learned in (by_hours, by_shares) for one in learned.rates]
    one, other = as_learned(book, by_hours), as_learned(book, by_shares)
    return Nearer(
        true, one, other, error(book, true, only), error(one, true, only), error(other, true, only),
        max(max(factor, 1.0 / factor) for factor in factors),
    )  # fmt: skip


def played(family: str, seed: int, symptom: str, jobs: int, count: int) -> list[tuple[float, float, float]]:
    """Minutes of each job, a comeback counted too, by the advice of the book as it was, as learned with the hours and
    of the true one. All three work the same gears, with the same readings as far as they do the same checks."""
    book = shipped_book(family)
    found = nearer(book, seed, count)
    gears = draw_pools(found.true, seed, [symptom], GEARS)
    players = [Player(each, sets=2) for each in (book, found.by_hours, found.true)]
    numbers = range(list(book.symptoms).index(symptom), jobs, len(book.symptoms))
    minutes = []
    for number in numbers:
        each = [player.play(draw_job(found.true, gears, seed, number)) for player in players]
        was, now, best = (p.minutes + book.defaults.comeback * p.hidden for p in each)
        minutes.append((was, now, best))
    return minutes


def all_ways(family: str, seed: int, symptom: str, count: int, cut: float) -> tuple[float, float, float, float]:
    """How often a squawk comes by the true rates, and its expected minutes by the advice of the book as it was, as
    learned with the hours and of the true one, where the true book says how likely each answer is."""
    book = shipped_book(family)
    found = nearer(book, seed, count)
    players = [Player(each, sets=2) for each in (book, found.by_hours, found.true)]
    was, now, best = (AllWays(player, found.true, cut).minutes(symptom) for player in players)
    return sum(rate for _, _, rate in to_meet(found.true, symptom)), was, now, best


def _told_of_all(met: Sequence[tuple[float, float, float, float]]) -> float:
    """Prints it, and returns what the learned rates save."""
    table = np.array(met)
    was, now, best = (table[:, 0] / table[:, 0].sum()) @ table[:, 1:]
    fewer = int((table[:, 2] < table[:, 1]).sum())
    print(f"{was:.1f} minutes by the book, {now:.1f} as learned, {best:.1f} by the true rates; ", end="")
    print(f"as learned fewer behind {fewer}, more behind {int((table[:, 2] > table[:, 1]).sum())}", flush=True)
    return float(was - now)


def main(words: Sequence[str] | None = None) -> int:
    """Draws, learns, plays and prints. Returns 1 where the error is not halved or the minutes do not fall."""
    parser = argparse.ArgumentParser(description="Rates learned from simulated cases against the true ones.")
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--jobs", type=int, default=540, help="jobs that are played, 0 for none")
    parser.add_argument(
        "--all-ways", type=float, default=0.0, metavar="CUT", help="no jobs but all ways of each squawk"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seeds", type=int, default=5, help="so many sets of altered rates, one after the other")
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2))
    parser.add_argument("--family", default=FAMILY)
    asked = parser.parse_args(words)
    book, missed = shipped_book(asked.family), False
    for seed in range(asked.seed, asked.seed + asked.seeds):
        found = nearer(book, seed, asked.cases)
        missed = missed or found.with_hours > found.before / 2
        print(
            f"seed {seed}: error {found.before:.3f} before, {found.with_hours:.3f} with the hours "
            f"({found.with_hours / found.before:.2f}), {found.without:.3f} by shares alone "
            f"({found.without / found.before:.2f}); furthest move x {found.furthest:.2f}", flush=True,
        )  # fmt: skip
    if asked.all_ways:
        with ProcessPoolExecutor(asked.processes) as workers:
            for seed in range(asked.seed, asked.seed + asked.seeds):
                given = (asked.family, seed)
                by = [workers.submit(all_ways, *given, s, asked.cases, asked.all_ways) for s in book.symptoms]
                met: list[tuple[float, float, float, float]] = []
                for number, each in enumerate(as_completed(by), 1):
                    met.append(each.result())
                    print(f"{number} of {len(by)} squawks, ", end="")
                    saved = _told_of_all(met)
                missed = saved <= 0 or missed
    elif asked.jobs:
        with ProcessPoolExecutor(asked.processes) as workers:
            running = [
                workers.submit(played, asked.family, asked.seed, symptom, asked.jobs, asked.cases)
                for symptom in book.symptoms
            ]
            minutes = np.array([job for each in running for job in each.result()])
        was, now, best = minutes.mean(axis=0)
        spread = (minutes[:, 1] - minutes[:, 0]).std(ddof=1) / math.sqrt(len(minutes))
        print(f"{len(minutes)} jobs: {was:.1f} minutes by the book, {now:.1f} as learned, {best:.1f} by the true rates")
        print(f"as learned less than by the book: {was - now:.1f}, standard error {spread:.1f}")
        missed = missed or now >= was
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
