"""Belief against a general-purpose library for exact inference in Bayesian networks (:mod:`tests.published.oracle`).

Small random books are compared without a size limit, so nothing but rounding may differ. On the shipped book
belief keeps sets of up to three modes, and may be off by what it says it left out, or by 1e-5.

The suite takes a share of the answer sets. All of them::

    FAULTTREE_ORACLE_SETS=220 pytest tests/published/test_oracle.py
"""

from __future__ import annotations

import math
import os
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

import pytest

from faulttree.belief import Answer, Belief, Believer, Denied, Did, Entry, Evidence, Found, Reported
from faulttree.book import read_book
from faulttree.book.model import Book
from tests.published import oracle
from tests.support.random_books import faults_below, large_book, random_book, random_case

SHARE = (1, 2, 3, 31, 34)
"""Between them every formula, in either book; exact inference takes ten seconds for some others."""

SETS = int(os.environ.get("FAULTTREE_ORACLE_SETS", "0"))
SEEDS = range(SETS) if SETS else SHARE
SMALL_BOOKS = 15
ROUNDING = 1e-9
BITS = 1e-7
TRUNCATION = 1e-5
LEFT_OUT = 1e-3
KNOWLEDGE = Path(__file__).parents[2] / "knowledge"
Difference = tuple[str, float, float]


def shipped_book() -> Book:
    """The book of the electromechanical gear."""
    reading = read_book([KNOWLEDGE], "electromechanical")
    assert reading.book is not None, reading.problems
    return reading.book


BOOKS = {"shipped": shipped_book, "made up": lambda: large_book(Random(1))}


@pytest.fixture(scope="module", params=BOOKS)
def book(request: pytest.FixtureRequest) -> Book:
    """A book of full size."""
    return BOOKS[request.param]()


@pytest.fixture(scope="module")
def believer(book: Book) -> Believer:
    """Belief over it, sets of up to three modes."""
    return Believer(book, size_limit=3)


def differences(book: Book, belief: Belief, exact: oracle.Exact) -> Iterator[Difference]:
    """Every probability: what it is of, what belief says, what the library says."""
    yield "unlisted", belief.unlisted, exact.unlisted
    for fault in book.faults:
        yield f"{fault} was there", belief.as_it_was[fault], exact.was[fault]
        yield f"{fault} stands", belief.faults[fault].probability, exact.stands[fault]
        yield f"{fault} comes and goes", belief.faults[fault].comes_and_goes, exact.comes_and_goes[fault]
    for check, shown in exact.outcomes.items():
        for outcome, ours, theirs in zip(book.checks[check].outcomes, belief.outcomes(check), shown, strict=True):
            yield f"{check} would show {outcome.id}", ours, theirs


def worst(rows: Iterator[Difference]) -> tuple[float, Difference]:
    return max((abs(row[1] - row[2]), row) for row in rows)


# -------------------------------------------------------------------------------------- small books, no size limit


def small(seed: int) -> tuple[Book, Evidence]:
    rng = Random(seed)
    book = random_book(rng)
    return book, random_case(rng, book)


@pytest.mark.parametrize("seed", range(SMALL_BOOKS))
def test_small_book(seed: int) -> None:
    """Without a size limit every probability is the library's, up to rounding."""
    book, evidence = small(seed)
    belief = Believer(book, size_limit=None).believe(evidence)
    exact = oracle.solve(book, evidence, list(book.checks))
    off, row = worst(differences(book, belief, exact))
    assert off <= ROUNDING, row


@pytest.mark.parametrize("seed", range(SMALL_BOOKS))
def test_small_book_evidence_and_conflict(seed: int) -> None:
    """Without a size limit, conflict and the probability of the answers are the library's, up to rounding."""
    book, evidence = small(seed)
    belief = Believer(book, size_limit=None).believe(evidence)
    expected = (oracle.solve(book, evidence).log2_evidence, oracle.conflict_bits(book, evidence))
    assert (belief.log2_evidence, belief.conflict_bits) == pytest.approx(expected, abs=ROUNDING)


@pytest.mark.parametrize("seed", range(0, SMALL_BOOKS, 3))
def test_small_book_components(seed: int) -> None:
    """A component's probability is that of an event that any of its faults stands, asked of the library."""
    book, evidence = small(seed)
    belief = Believer(book, size_limit=None).believe(evidence)
    exact = oracle.any_stands(book, evidence)
    assert dict(belief.components) == pytest.approx(exact, abs=ROUNDING)


@pytest.mark.parametrize("seed", range(0, SMALL_BOOKS, 3))
def test_small_book_weights(seed: int) -> None:
    """Weights of evidence, entry by entry, are the steps of the library's log odds."""
    book, evidence = small(seed)
    belief = Believer(book, size_limit=None).believe(evidence)
    at, told = oracle.split(evidence)
    ours = {f: _bits(belief, f, told) for f in book.faults}
    off = []
    before = oracle.log_odds(book, at)
    for n, entry in enumerate(told):
        at = Evidence((*at.entries, entry), at.circumstances, at.hours)
        after = oracle.log_odds(book, at)
        steps = {f: after[f] - before[f] for f in book.faults if math.isfinite(before[f]) and math.isfinite(after[f])}
        off += [(entry, f, ours[f][n], step) for f, step in steps.items() if not abs(ours[f][n] - step) <= BITS]
        before = after
    assert off == []


def _bits(belief: Belief, fault: str, told: tuple[Entry, ...]) -> list[float]:
    """The weight of each entry, 0 for an action: it tells nothing by itself."""
    weights = iter([bits for entry, bits in belief.weights(fault) if not isinstance(entry, Did)])
    return [0.0 if isinstance(entry, Did) else next(weights) for entry in told]


# ---------------------------------------------------------------------------------------- a book of full size


def answer_set(book: Book, seed: int) -> Evidence:
    return random_case(Random(1000 + seed), book)


def solved(book: Book, evidence: Evidence, next_checks: Sequence[str] = ()) -> tuple[Evidence, oracle.Exact]:
    """The case and what the library says of it. A case too large for the library loses its last entries."""
    try:
        return evidence, oracle.solve(book, evidence, next_checks)
    except oracle.TooLargeError:
        shorter = Evidence(evidence.entries[:-1], evidence.circumstances, evidence.hours)
        return solved(book, shorter, next_checks)


@pytest.mark.parametrize("seed", SEEDS)
def test_book_of_full_size(book: Book, believer: Believer, seed: int) -> None:
    """Every probability is the library's, up to what belief says it left out, or 1e-5."""
    evidence, exact = solved(book, answer_set(book, seed))
    belief = believer.believe(evidence)
    off, row = worst(differences(book, belief, exact))
    assert off <= max(TRUNCATION, belief.left_out), row


@pytest.mark.parametrize("seed", SEEDS[:2])
def test_what_a_check_would_show(book: Book, believer: Believer, seed: int) -> None:
    """A prediction is the library's, up to 1e-5 or what is left out with the faults that the check reaches."""
    evidence, exact = solved(book, answer_set(book, seed), [Random(seed).choice(list(book.checks))])
    belief = believer.believe(evidence)
    off = {}
    for check, shown in exact.outcomes.items():
        nothing = Answer(check, (1.0,) * len(shown))
        more = Evidence((*evidence.entries, nothing), evidence.circumstances, evidence.hours)
        allowed = max(TRUNCATION, believer.believe(more).left_out)
        if belief.outcomes(check) != pytest.approx(shown, abs=allowed):
            off[check] = (belief.outcomes(check), shown, allowed)
    assert off == {}


def test_little_is_left_out() -> None:
    """On the shipped book, in nine of ten answer sets, larger sets of faults could weigh a thousandth at most."""
    book = shipped_book()
    believer = Believer(book, size_limit=3)
    left_out = [believer.believe(answer_set(book, seed)).left_out for seed in range(max(SETS, 10))]
    assert sum(weight <= LEFT_OUT for weight in left_out) >= 0.9 * len(left_out)


def test_answer_sets_cover_every_formula(book: Book) -> None:
    """Among the sets there are modes, denials, several outcomes, repeats, doubt, actions, finds, circumstances."""
    seen: Counter[str] = Counter()
    for seed in SEEDS:
        seen.update(_features(book, answer_set(book, seed)))
    assert {name for name in FEATURES if not seen[name]} == set()


FEATURES = (
    "comes and goes",
    "denied",
    "several outcomes",
    "in doubt",
    "repeated",
    "action",
    "found",
    "symptom after an action",
    "proof",
    "about the squawk",
    "circumstance",
    "hours",
)


def _features(book: Book, evidence: Evidence) -> Iterator[str]:
    entries = evidence.entries
    acted = len(entries) if not any(isinstance(e, Did) for e in entries) else _first_action(entries)
    checks = [e.check for e in entries if isinstance(e, Answer)]
    tells = {
        "comes and goes": any(book.faults[f].share for f in faults_below(book, _looked_at(book, checks))),
        "denied": any(isinstance(e, Denied) for e in entries),
        "several outcomes": any(len(book.checks[c].outcomes) > 2 for c in checks),
        "in doubt": any(isinstance(e, Answer) and max(e.weights) < 1.0 for e in entries),
        "repeated": len(checks) > len(set(checks)),
        "action": acted < len(entries),
        "found": any(isinstance(e, Found) for e in entries),
        "symptom after an action": any(isinstance(e, Reported | Denied) for e in entries[acted:]),
        "proof": any(book.checks[c].proof for c in checks),
        "about the squawk": any(book.checks[c].about == "squawk" for c in checks),
        "circumstance": bool(evidence.circumstances),
        "hours": evidence.hours is not None,
    }
    yield from (name for name, there in tells.items() if there)


def _first_action(entries: tuple[Entry, ...]) -> int:
    return next(n for n, entry in enumerate(entries) if isinstance(entry, Did))


def _looked_at(book: Book, checks: list[str]) -> list[str]:
    return [o.when for c in checks for o in book.checks[c].outcomes if o.when]
