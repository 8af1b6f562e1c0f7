"""The chains of the shipped book: each fault has its place, and a mechanic sees for every symptom where it may lie."""

from __future__ import annotations

import pytest

from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.dialogue.chains import chains
from faulttree.dialogue.where import strips
from faulttree.graph.gates import Gates
from tests.jobs.run import shipped_book

LONGEST = 20
"""Signs of a place on the screen."""


@pytest.fixture(scope="module", params=["electromechanical", "power-pack", "engine-driven"])
def book(request: pytest.FixtureRequest) -> Book:
    return shipped_book(request.param)


def test_every_fault_lies_on_a_chain(book: Book) -> None:
    """A fault without a place is seen on no strip."""
    gates = Gates(book)
    placed = {fault for taps in chains(book).values() for tap in taps for fault in gates.below(tap)}
    assert set(book.faults) - placed == set()


def test_every_symptom_shows_where_its_fault_may_lie(book: Book) -> None:
    """From the first screen on, in short words."""
    gates, believer = Gates(book), Believer(book)
    for symptom in book.symptoms:
        faults = believer.believe(Evidence((Reported(symptom),))).faults
        now = {name: fault.probability for name, fault in faults.items()}
        found = strips(book, gates, now, now)
        assert found, symptom
        assert max(len(part.tap) for strip in found for part in strip.stretches) <= LONGEST
