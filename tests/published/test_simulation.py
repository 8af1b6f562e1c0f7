"""Belief against the story it tells, played many times with drawn chances (see :mod:`tests.published.simulation`).

A count is held against the one that belief expects. The allowance is 4.5 standard deviations of the binomial
distribution, and three gears more for chances so small that the distribution is lopsided. Seeds are fixed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from random import Random

import numpy as np
import pytest

from faulttree.belief import (
    Answer,
    Belief,
    Believer,
    Denied,
    Did,
    Entry,
    Evidence,
    Found,
    Reported,
    measured,
    plain,
    unsure,
)
from faulttree.book.model import THE_SQUAWK, Action, Book, Reading
from tests.published.simulation import Survivors, play
from tests.support.books import fault, gate, make_book, symptom
from tests.support.random_books import (
    CIRCUMSTANCES,
    a_check,
    random_book,
    random_case,
)
from tests.support.share import share

GEARS = 320_000
DEVIATIONS = 4.5
MORE = 3.0


def bench() -> Book:
    """Five faults, two of which come and go at times and one always, and a check for each formula."""
    faults = [
        fault("wire", probability=0.15, share=0.7, shows=0.4, promoted_by=("wet",)),
        fault("relay", probability=0.2, share=0.35, shows=0.4, demoted_by=("dry", "soaked")),
        fault("switch", probability=0.12, promoted_by=("wet", "soaked")),
        fault("motor", probability=0.1, share=1.0, shows=0.3),
        fault("lamp", probability=0.25, demoted_by=("dry", "soaked")),
    ]
    events = [
        gate("dead", "any_of", "wire", "relay", "switch"),
        gate("dark", "any_of", "wire", "lamp"),
        gate("both", "all_of", "relay", "lamp"),
        gate("two", "at_least", "wire", "relay", "lamp", "motor", count=2),
        gate("clean", "not", "switch", "lamp"),
        gate("stuck", "any_of", "dead", "motor"),
    ]
    checks = [
        a_check("volts", "dead", 0.9, 0.05),
        a_check("sort", ["wire", "two", "lamp"], [0.8, 0.9, 0.95], 0.1),
        a_check("stated", ["relay", "dark"], 1.0, 0.0, matrix=((0.7, 0.2, 0.05), (0.2, 0.6, 0.05), (0.1, 0.2, 0.9))),
        a_check("tap", ["wire", "relay"], 0.9, 0.05, wakes=0.5),
        a_check("light", "dark", 0.85, 0.1, fresh=0.6),
        a_check("asked", ["both", "dead"], 0.9, 0.05, about="squawk", kind="ask"),
        a_check("cleanness", "clean", 0.9, 0.1),
        a_check("gauge", "relay", 0.95, 0.05, reading=Reading("voltage", "V", 0.5, "limit", "o0", "fine")),
        a_check("proof", THE_SQUAWK, 0.9, 0.04, wakes=0.3, proof=True),
        a_check("late-proof", ["lamp", THE_SQUAWK], 0.85, 0.06, proof=True),
    ]
    actions = [
        Action("fix-wire", "fix-wire", ("wire",), 0.8, 10.0),
        Action("swap", "swap", ("relay", "lamp"), 0.95, 10.0),
        Action("renew", "renew", ("wire", "relay", "switch", "motor"), 0.9, 10.0),
    ]
    symptoms = [
        symptom("no-up", "stuck", unlisted=0.15, noticed=0.8),
        symptom("no-light", "dark", unlisted=0.3, noticed=0.6),
    ]
    return make_book(faults, events, symptoms, checks, actions, circumstances=CIRCUMSTANCES.values())


BENCH = bench()
UP, LIGHT = Reported("no-up"), Reported("no-light")


def says(text: str) -> Answer:
    """``check=outcome``, with a question mark after it for an answer in doubt."""
    check, _, outcome = text.partition("=")
    return unsure(BENCH, check, outcome[:-1]) if outcome.endswith("?") else plain(BENCH, check, outcome)


CASES: Mapping[str, Evidence] = {
    "nothing known": Evidence(),
    "answers without a symptom": Evidence((says("volts=o0"), says("light=fine"))),
    "a symptom": Evidence((UP,)),
    "two symptoms": Evidence((UP, LIGHT)),
    "a symptom denied": Evidence((UP, Denied("no-light"))),
    "the second good result says less": Evidence((UP, says("volts=fine"), says("tap=fine"))),
    "a check with several outcomes": Evidence((UP, says("sort=o1"))),
    "a missed outcome": Evidence((LIGHT, says("sort=fine"), says("stated=fine"))),
    "a stated matrix": Evidence((UP, says("stated=o1"))),
    "an answer in doubt": Evidence((UP, says("sort=o2?"), says("volts=o0?"))),
    "a check done twice": Evidence((UP, says("volts=fine"), says("volts=fine"))),
    "a check done three times": Evidence((LIGHT, says("light=o0"), says("light=fine"), says("light=o0?"))),
    "repeats of several outcomes": Evidence((UP, says("sort=o0"), says("sort=o2?"), says("tap=o0"), says("sort=o0"))),
    "provoked": Evidence((UP, says("tap=o1"), says("volts=fine"))),
    "asked about the squawk": Evidence((UP, says("asked=o1"), says("volts=fine"))),
    "what must not be there": Evidence((UP, says("cleanness=o0"))),
    "a reading near its limit": Evidence((UP, measured(BENCH, "gauge", 9.8, 10.0))),
    "a reading read twice": Evidence((UP, measured(BENCH, "gauge", 9.8, 10.0), measured(BENCH, "gauge", 10.6, 10.0))),
    "found": Evidence((UP, Found("motor"))),
    "found again": Evidence((LIGHT, Found("lamp"), says("sort=o1"), Found("lamp"))),
    "an action": Evidence((UP, says("volts=o0"), Did("renew"), says("volts=fine"))),
    "an action that failed": Evidence((UP, Did("fix-wire"), says("proof=o0"))),
    "an action done twice": Evidence((UP, Did("fix-wire"), says("proof=o0"), Did("fix-wire"), says("proof=o0"))),
    "a check before and after": Evidence((UP, says("volts=o0"), Did("swap"), says("volts=o0"), says("volts=o0"))),
    "asked of the squawk after an action": Evidence((UP, LIGHT, Did("swap"), says("asked=o0"), says("volts=fine"))),
    "a proof passed": Evidence((UP, says("volts=o0"), Did("renew"), says("proof=fine"))),
    "a proof among other outcomes": Evidence((UP, Did("renew"), says("late-proof=o1"))),
    "a proof that was repeated": Evidence((UP, Did("swap"), says("proof=fine"), says("proof=o0"))),
    "a proof before any action": Evidence((LIGHT, says("proof=fine"))),
    "the symptom persists": Evidence((UP, Did("fix-wire"), UP, UP)),
    "another symptom later": Evidence((UP, Did("renew"), LIGHT, says("proof=fine"))),
    "a later symptom joins the squawk": Evidence((UP, Did("renew"), LIGHT, Did("fix-wire"), says("proof=o0"))),
    "denied later": Evidence((UP, LIGHT, Did("swap"), Denied("no-light"), says("volts=o0"))),
    "denied twice": Evidence((UP, LIGHT, Did("swap"), Denied("no-light"), Denied("no-light"))),
    "no symptom before the action": Evidence((says("volts=o0"), Did("swap"), LIGHT, says("proof=fine"))),
    "found after an action": Evidence((UP, Did("renew"), Found("wire"))),
    "a circumstance": Evidence((UP, says("volts=fine")), ("wet",)),
    "circumstances held at the limit": Evidence((UP, says("sort=o2")), ("wet", "soaked", "dry")),
    "a circumstance of the modes": Evidence((UP, says("volts=fine")), ("comes-and-goes",)),
}


@dataclass(frozen=True)
class Count:
    """``seen`` of ``out_of`` gears had it; belief gives it the probability ``expected``."""

    what: str
    seen: int
    out_of: int
    expected: float

    @property
    def off(self) -> bool:
        spread = math.sqrt(max(self.out_of * self.expected * (1.0 - self.expected), 0.0))
        return not abs(self.seen - self.out_of * self.expected) <= DEVIATIONS * spread + MORE


def counts(book: Book, belief: Belief, left: Survivors) -> Iterator[Count]:
    """Everything that was counted, beside what belief says of it."""
    yield Count("answers", left.count, left.framed, 2.0**belief.log2_evidence)
    yield Count("unlisted", left.unlisted, left.count, belief.unlisted)
    for name, now in belief.faults.items():
        yield Count(f"{name} was there", left.was[name], left.count, belief.as_it_was[name])
        yield Count(f"{name} stands", left.stands[name], left.count, now.probability)
        yield Count(f"{name} comes and goes", left.comes_and_goes[name], left.count, now.comes_and_goes)
    for check, shown in left.shown.items():
        for outcome, seen, expected in zip(book.checks[check].outcomes, shown, belief.outcomes(check), strict=True):
            yield Count(f"{check} would show {outcome.id}", seen, left.count, expected)


def disagreements(book: Book, evidence: Evidence, seed: int, least: int) -> list[str]:
    left = play(book, evidence, np.random.default_rng(seed), GEARS, list(book.checks))
    assert left.count >= least, f"only {left.count} gears left to count"
    belief = Believer(book, size_limit=None).believe(evidence)
    off = [c for c in counts(book, belief, left) if c.off]
    return [f"{c.what}: {c.seen / c.out_of} of {c.out_of} gears, not {c.expected}" for c in off]


@pytest.mark.parametrize("name", share(CASES, 3, "bench"))
def test_case_on_the_bench(name: str) -> None:
    """Belief's figures for the case are the shares that the drawn gears show."""
    assert disagreements(BENCH, CASES[name], 4711, 1_000) == []


@pytest.mark.parametrize("seed", range(16))
def test_random_case(seed: int) -> None:
    """On a book and a case drawn at random, belief's figures are the shares that the drawn gears show."""
    rng = Random(seed)
    book = random_book(rng, 5, 0.06)
    assert disagreements(book, random_case(rng, book, 4, (None, 10.0)), seed, 200) == []


# ------------------------------------------------------------------------------------- conflict, weight of evidence


def split(entries: tuple[Entry, ...]) -> tuple[tuple[Entry, ...], tuple[Entry, ...]]:
    """The symptoms said before any action, and all else in its order."""
    until = next((n for n, entry in enumerate(entries) if isinstance(entry, Did)), len(entries))
    frame = [n for n in range(until) if isinstance(entries[n], Reported | Denied)]
    return tuple(entries[n] for n in frame), tuple(e for n, e in enumerate(entries) if n not in frame)


def listed_log2(evidence: Evidence, seed: int) -> tuple[float, float]:
    """log2 of the share of gears with a listed cause that gave the answers, and the variance of that figure."""
    left = play(BENCH, evidence, np.random.default_rng(seed), GEARS)
    seen, out_of = left.count - left.unlisted, left.framed - left.framed_unlisted
    share = seen / out_of
    return math.log2(share), (1.0 - share) / seen / math.log(2.0) ** 2


CONFLICTS = (
    "the second good result says less",
    "a missed outcome",
    "a check done twice",
    "a check before and after",
    "another symptom later",
    "denied later",
)


@pytest.mark.parametrize("name", CONFLICTS)
def test_conflict(name: str) -> None:
    """Conflict is log2 of the answers' chances one by one over their chance together, as counted."""
    evidence = CASES[name]
    frame, told = split(evidence.entries)
    together, variance = listed_log2(evidence, 1)
    conflict = -together
    actions: list[Entry] = []
    for n, entry in enumerate(told):
        if isinstance(entry, Did):
            actions.append(entry)
            continue
        alone, more = listed_log2(Evidence((*frame, *actions, entry)), 2 + n)
        conflict, variance = conflict + alone, variance + more
    belief = Believer(BENCH, size_limit=None).believe(evidence)
    assert abs(belief.conflict_bits - conflict) <= DEVIATIONS * math.sqrt(variance)


WEIGHED = (
    "the second good result says less",
    "a check done three times",
    "asked of the squawk after an action",
    "a later symptom joins the squawk",
    "found again",
)


@pytest.mark.parametrize("fault", BENCH.faults)
@pytest.mark.parametrize("name", WEIGHED)
def test_weight_of_evidence(name: str, fault: str) -> None:
    """After each answer, prior log odds and the weights so far give the share of gears that had the fault."""
    belief = Believer(BENCH, size_limit=None).believe(CASES[name])
    frame, told = split(CASES[name].entries)
    log_odds = belief.prior_log_odds(fault)
    weighed = [(entry, bits) for entry, bits in belief.weights(fault) if not isinstance(entry, Did)]
    assert [entry for entry, _ in weighed] == [entry for entry in told if not isinstance(entry, Did)]
    off = []
    for n, entry in enumerate(told, 1):
        if isinstance(entry, Did):
            continue
        log_odds += weighed.pop(0)[1]
        left = play(BENCH, Evidence((*frame, *told[:n])), np.random.default_rng(n), GEARS // 2)
        count = Count(f"after {entry}", left.was[fault], left.count, 1.0 / (1.0 + 2.0**-log_odds))
        off += [count] if count.off else []
    assert off == []
