"""Faults of the shipped book met alone: those that never sleep are mended in the end, and what is printed adds up."""

from __future__ import annotations

import pytest

from tests.jobs.every_fault import Met, floor_of, lines, meet, to_meet
from tests.jobs.run import FAMILY, shipped_book

SYMPTOM = "lights-dead"


@pytest.fixture(scope="module")
def met() -> list[Met]:
    return meet(FAMILY, SYMPTOM, 2, 1)


def test_every_hard_fault_is_mended_at_least_once(met: list[Met]) -> None:
    """In two tries, readings that err and all."""
    assert [m.fault for m in met if not m.sleeping and m.mended == 0.0] == []


def test_no_job_takes_less_than_the_fault_known_from_the_start(met: list[Met]) -> None:
    """The floor is one: help apart, which may be cheaper than a long repair."""
    assert all(m.minutes >= m.floor - 1e-6 for m in met if m.helped == 0.0 and m.mended == 1.0)


def test_every_fault_below_the_symptom_is_met() -> None:
    """Hard, and asleep where it comes and goes; weights are the rates."""
    book = shipped_book()
    rates: dict[str, float] = {}
    for fault, _, rate in to_meet(book, SYMPTOM):
        rates[fault] = rates.get(fault, 0.0) + rate
    assert rates
    rated = {fault: rate for fault, rate in rates.items() if book.faults[fault].rate is not None}
    assert rated == {fault: pytest.approx(book.faults[fault].rate) for fault in rated}
    assert min(floor_of(book, SYMPTOM, fault) for fault in rates) > 0


def test_figures_are_weighted_by_rate() -> None:
    """Own arithmetic: three parts in four call help, and the minutes are 1.5 times the floor."""
    met = [Met("a.x", False, "s", 3.0, 1.0, 0.0, 150.0, 100.0), Met("b.x", True, "s", 1.0, 0.0, 1.0, 150.0, 100.0)]
    told = list(lines(met))
    assert told[1].startswith("help is called in 75.0%")
    assert told[3].startswith("minutes 1.50 times the floor")
