"""Testability figures: detected, isolated, ambiguity groups, weighted by rate."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.book.model import THE_SQUAWK, Book
from faulttree.errors import UnknownName
from faulttree.workshop import testability as figures
from tests.jobs.run import shipped_book
from tests.published.simulation import holds
from tests.support.belief_cases import law
from tests.support.books import check, fault, gate, make_book, symptom
from tests.support.random_books import random_book


def by_hand() -> Book:
    """Three faults of rates 6, 3 and 1: one check shows the first, another the first two, none the third."""
    return make_book(
        faults=[fault("a.x", rate=6.0), fault("b.x", rate=3.0), fault("c.x", rate=1.0)],
        events=[gate("either", "any_of", "a.x", "b.x")],
        checks=[check("first", bad="a.x"), check("both", bad="either")],
    )


def groups_by_hand() -> Book:
    """Groups of one, two, three and four faults of rates 1, 2, 3 and 4 each, and one of rate 10 that nothing shows."""
    names = {size: [f"g{size}.m{k}" for k in range(size)] for size in (1, 2, 3, 4)}
    return make_book(
        faults=[*(fault(n, rate=float(size)) for size, of in names.items() for n in of), fault("h.x", rate=10.0)],
        events=[gate(f"any{size}", "any_of", *of) for size, of in names.items()],
        checks=[check(f"look{size}", bad=f"any{size}") for size in names],
    )


def test_a_book_worked_out_by_hand() -> None:
    """Nine parts in ten are detected, all of these in groups of one (own arithmetic by the definitions)."""
    found = figures.testability(by_hand())
    assert found.detected == pytest.approx(0.9)
    assert (found.isolated, found.nearly, found.mean_group) == (1.0, 1.0, 1.0)
    assert found.undetected == ("c.x",)


def test_groups_of_every_size_worked_out_by_hand() -> None:
    """Rates 1, 4, 9 and 16 by size, 30 of 40 detected; sizes weighted by rate 1 + 8 + 27 + 64 (own arithmetic)."""
    found = figures.testability(groups_by_hand())
    assert found.detected == pytest.approx(30 / 40)
    assert (found.isolated, found.nearly) == (pytest.approx(1 / 30), pytest.approx(14 / 30))
    assert found.mean_group == pytest.approx(100 / 30)
    assert [len(group) for group in found.groups] == [4, 3, 2]


@law
@given(st.randoms(use_true_random=False))
def test_groups_are_those_of_equal_outcomes(rng: Random) -> None:
    """Against plain enumeration: a fault's true outcomes by a simulator that shares no code with the program."""
    book = random_book(rng, 6, 0.03)
    checks = [c for c in book.checks.values() if all(o.when != THE_SQUAWK for o in c.outcomes)]

    alone = np.eye(len(book.faults) + 1, len(book.faults), dtype=np.bool_)

    def outcomes(row: int) -> tuple[str, ...]:
        shown = alone[row : row + 1]
        return tuple(
            next(o.id for o in c.outcomes if o.when is None or bool(holds(book, o.when, shown)[0])) for c in checks
        )

    sound = outcomes(len(book.faults))
    groups: dict[tuple[str, ...], set[str]] = {}
    for row, name in enumerate(book.faults):
        groups.setdefault(outcomes(row), set()).add(name)
    found = figures.testability(book)
    assert set(found.undetected) == groups.pop(sound, set())
    assert {frozenset(g) for g in found.groups} == {frozenset(g) for g in groups.values() if len(g) > 1}
    rate = figures.weights(book)
    seen = sum(rate[f] for g in groups.values() for f in g)
    assert found.detected == pytest.approx(seen / sum(rate.values()))
    if seen:
        assert found.mean_group == pytest.approx(sum(len(g) * rate[f] for g in groups.values() for f in g) / seen)


def test_the_shipped_book_reaches_its_goals() -> None:
    """At least 95, 70 and 92 per cent, and at most 1.6 faults to a group."""
    found = figures.testability(shipped_book())
    assert found.detected >= 0.95
    assert found.isolated >= 0.70
    assert found.nearly >= 0.92
    assert found.mean_group <= 1.6


def test_a_book_without_faults_has_nothing_to_detect() -> None:
    """Begun with cases alone, say: no division by the rate of nothing."""
    assert figures.testability(make_book()).detected == 0.0


def test_figures_of_a_symptom_are_those_of_the_faults_that_reach_it() -> None:
    """The fault that nothing shows does not reach it: all is detected."""
    book = by_hand()
    book = replace(book, symptoms={"s": symptom("s", "either"), "t": symptom("t", "c.x")})
    of_s, of_t = figures.of_symptom(book, "s"), figures.of_symptom(book, "t")
    assert (of_s.faults, of_s.detected, of_s.isolated) == (2, 1.0, 1.0)
    assert (of_t.faults, of_t.detected, of_t.undetected) == (1, 0.0, ("c.x",))


def test_an_unknown_symptom_is_named() -> None:
    """In the message."""
    with pytest.raises(UnknownName, match="'wrong'"):
        figures.of_symptom(by_hand(), "wrong")
