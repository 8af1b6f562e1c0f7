"""What must hold of belief on any book and any case: laws of probability, order, undo, size of sets."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from faulttree.belief import Answer, Believer, Denied, Did, Entry, Evidence, Found, Reported, plain
from faulttree.book.model import Book, Event
from tests.support.belief_cases import CLOSE, Case, cases, figures, law, summary
from tests.support.books import make_book
from tests.support.random_books import a_check, faults_below


def epochs(evidence: Evidence) -> Iterator[list[Entry]]:
    """The entries between actions; an action stands at the head of its epoch."""
    part: list[Entry] = []
    for entry in evidence.entries:
        if isinstance(entry, Did):
            yield part
            part = []
        part.append(entry)
    yield part


def shuffled(evidence: Evidence, rng: Random) -> Evidence:
    out: list[Entry] = []
    for n, part in enumerate(epochs(evidence)):
        head, rest = part[: int(n > 0)], part[int(n > 0) :]
        out += head + rng.sample(rest, len(rest))
    return Evidence(tuple(out), evidence.circumstances, evidence.hours)


def then(evidence: Evidence, entry: Entry) -> Evidence:
    return Evidence((*evidence.entries, entry), evidence.circumstances, evidence.hours)


# --------------------------------------------------------------------------------------------- laws of probability


@law
@given(cases())
def test_probabilities(case: Case) -> None:
    """Every probability lies between 0 and 1."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    assert [x for x in figures(book, belief).items() if not 0.0 <= x[1] <= 1.0] == []


@law
@given(cases(hours=(500.0, 5000.0, 1e6)))
def test_probabilities_after_many_hours(case: Case) -> None:
    """However long the gear was in use, every probability lies between 0 and 1."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    assert [x for x in figures(book, belief).items() if not 0.0 <= x[1] <= 1.0] == []


@law
@given(cases())
def test_parts_of_a_probability(case: Case) -> None:
    """A fault's coming and going is a part of its probability, which is a part of its component's and of 1 - P(U)."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    for name, fault in book.faults.items():
        mine = belief.faults[name]
        rising = [0.0, mine.comes_and_goes, mine.probability, belief.components[fault.component], 1 - belief.unlisted]
        assert all(a <= b + CLOSE for a, b in itertools.pairwise(rising)), name


@law
@given(cases())
def test_outcomes_sum_to_one(case: Case) -> None:
    """What a check would show next sums to one, whatever was told before."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    sums = {check: math.fsum(belief.outcomes(check)) for check in book.checks}
    assert sums == pytest.approx(dict.fromkeys(sums, 1.0), abs=CLOSE)


@law
@given(cases(faults=4, steps=0), st.sets(st.integers(0, 3)))
def test_columns_sum_to_one(case: Case, standing: set[int]) -> None:
    """With the faults that stand known for sure, what a check would show still sums to one: its likelihood does."""
    book, _ = case
    pins = [a_check(f"pin-{fault}", fault, 1.0, 0.0, about="squawk", kind="ask") for fault in book.faults]
    pinned = make_book(
        list(book.faults.values()),
        list(book.events.values()),
        list(book.symptoms.values()),
        [*book.checks.values(), *pins],
    )
    told = [plain(pinned, pin.id, "o0" if n in standing else "fine") for n, pin in enumerate(pins)]
    belief = Believer(pinned, size_limit=None).believe(Evidence(tuple(told)))
    sums = {check: math.fsum(belief.outcomes(check)) for check in book.checks}
    assert sums == pytest.approx(dict.fromkeys(sums, 1.0), abs=CLOSE)


@law
@given(cases(), st.data())
def test_chance_of_an_answer_is_what_was_foretold(case: Case, data: st.DataObject) -> None:
    """The evidence of one more plain answer is the evidence so far times what that outcome was foretold with."""
    book, evidence = case
    believer = Believer(book, size_limit=None)
    belief = believer.believe(evidence)
    assume(math.isfinite(belief.log2_evidence))  # nothing is foretold from evidence that cannot be
    check = book.checks[data.draw(st.sampled_from(list(book.checks)))]
    gained = {}
    for outcome in check.outcomes:
        more = believer.believe(then(evidence, plain(book, check.id, outcome.id)))
        gained[outcome.id] = 2.0 ** (more.log2_evidence - belief.log2_evidence)
    assert tuple(gained.values()) == pytest.approx(belief.outcomes(check.id), abs=CLOSE), gained


@law
@given(cases(), st.randoms(use_true_random=False))
def test_order_within_an_epoch(case: Case, rng: Random) -> None:
    """The order of what is told between two actions changes nothing."""
    book, evidence = case
    believer = Believer(book, size_limit=None)
    one = summary(book, believer.believe(evidence))
    other = summary(book, believer.believe(shuffled(evidence, rng)))
    assert one == pytest.approx(other, abs=CLOSE)


@law
@given(cases())
def test_a_symptom_said_twice(case: Case) -> None:
    """A symptom said again in the same epoch changes nothing."""
    book, evidence = case
    twice = [e for e in evidence.entries for _ in range(2 if isinstance(e, Reported | Denied) else 1)]
    again = Evidence(tuple(twice), evidence.circumstances, evidence.hours)
    believer = Believer(book, size_limit=None)
    one, other = believer.believe(evidence), believer.believe(again)
    assert summary(book, one) == pytest.approx(summary(book, other), abs=CLOSE)


@law
@given(cases())
def test_undo(case: Case) -> None:
    """After the last entry is dropped, every figure is exactly what it was before that entry came."""
    book, evidence = case
    before = Evidence(evidence.entries[:-1], evidence.circumstances, evidence.hours)
    believer = Believer(book)
    first = summary(book, believer.believe(before))
    believer.believe(evidence)
    assert summary(book, believer.believe(before)) == first


@law
@given(cases())
def test_belief_depends_on_book_and_case_alone(case: Case) -> None:
    """A believer that has seen other cases gives exactly the figures of a new one."""
    book, evidence = case
    used = Believer(book)
    for n in range(len(evidence.entries)):
        used.believe(Evidence(evidence.entries[n:][:3]))
    assert summary(book, used.believe(evidence)) == summary(book, Believer(book).believe(evidence))


@law
@given(cases(), st.data())
def test_an_answer_that_tells_nothing(case: Case, data: st.DataObject) -> None:
    """An answer that gives every outcome the same weight 1 changes nothing."""
    book, evidence = case
    believer = Believer(book, size_limit=None)
    check = book.checks[data.draw(st.sampled_from(list(book.checks)))]
    more = then(evidence, Answer(check.id, (1.0,) * len(check.outcomes)))
    one, other = figures(book, believer.believe(evidence)), figures(book, believer.believe(more))
    assert other == pytest.approx(one, abs=CLOSE)


@law
@given(cases(faults=5))
def test_a_limit_of_all_faults_is_none(case: Case) -> None:
    """A size limit that no set exceeds leaves nothing out and changes nothing."""
    book, evidence = case
    limited, free = (Believer(book, size_limit=n).believe(evidence) for n in (len(book.faults), None))
    assert limited.left_out == 0.0
    assert summary(book, limited) == pytest.approx(summary(book, free), abs=CLOSE)


@law
@given(cases(faults=6), st.sampled_from([1, 2, 3]))
def test_left_out_is_an_upper_bound(case: Case, limit: int) -> None:
    """Among listed causes, a larger set of faults is at most as likely as what belief says it left out."""
    book, evidence = case
    listed = counting(book, reached(book, evidence), limit)
    belief = Believer(listed, size_limit=limit).believe(evidence)
    exact = Believer(listed, size_limit=None).believe(evidence)
    assert exact.outcomes("counted")[0] <= belief.left_out + CLOSE


def reached(book: Book, evidence: Evidence) -> list[str]:
    """Faults that the symptoms, answers and finds look at."""
    looked_at: list[str] = []
    for entry in evidence.entries:
        if isinstance(entry, Reported | Denied):
            looked_at.append(entry.symptom)
        elif isinstance(entry, Found):
            looked_at.append(entry.fault)
        elif isinstance(entry, Answer):
            looked_at += [o.when for o in book.checks[entry.check].outcomes if o.when]
    return sorted(faults_below(book, looked_at))


def counting(book: Book, faults: Sequence[str], limit: int) -> Book:
    """The book without an unlisted cause, and with a question that never errs: more than ``limit`` of these faults?"""
    many = Event("many", "", "at_least", tuple(faults), limit + 1)
    counted = a_check("counted", "many", 1.0, 0.0, about="squawk", kind="ask")
    return make_book(
        list(book.faults.values()),
        [*book.events.values(), many],
        [replace(symptom, unlisted=0.0) for symptom in book.symptoms.values()],
        [*book.checks.values(), counted],
        list(book.actions.values()),
        circumstances=book.circumstances.values(),
    )
