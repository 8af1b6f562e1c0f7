"""Facts of the trade on the shipped book. Each is common practice, no source, unless it names one."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.belief import Believer, Evidence, Reported
from faulttree.book import read_book
from faulttree.book.model import Book
from faulttree.conditions import Moves

KNOWLEDGE = Path(__file__).parents[2] / "knowledge"


@pytest.fixture(scope="module")
def book() -> Book:
    found = read_book([KNOWLEDGE], "electromechanical").book
    assert found is not None
    return found


def test_the_ground_safety_switch_leads_a_gear_that_does_not_come_up(book: Book) -> None:
    """With no other evidence the switch, its rigging and its wiring are the likeliest (common practice, no source)."""
    components = Believer(book).believe(Evidence((Reported("will-not-retract"),))).components
    assert max(components, key=lambda c: components[c]) == "ground-safety-switch"


def test_the_brace_takes_about_fifty_pounds_to_break(book: Book) -> None:
    """On one common type at least about 50 lbf (common practice, no source): a typical value, never a limit."""
    typical = [limit for limit in book.limits.values() if limit.unit == "lbf" and limit.typical == 50]
    assert len(typical) == 1
    assert typical[0].basis is not None
    assert typical[0].basis.kind == "common-practice"
    assert typical[0].where


def test_a_gear_that_stays_down_is_left_down(book: Book) -> None:
    """The advice to the pilot: leave it down, go home and land (common practice, no source)."""
    advice = " ".join(book.symptoms["will-not-retract"].pilot_advice).lower()
    assert "leave it down" in advice


def test_a_retraction_test_holds_an_emergency_extension(book: Book) -> None:
    """A good retraction test includes a manual extension to down and locked (common practice, no source)."""
    proof = book.checks[book.symptoms["will-not-retract"].proof]
    assert "emergency" in proof.name.lower()


def test_nobody_selects_up_on_the_wheels(book: Book) -> None:
    """Every check or action that powers or probes the up circuit stands on jacks (FAA-H-8083-3, complex aircraft)."""
    powered = [c for c in book.checks.values() if "gear-powered" in c.needs or "select-up" in c.id]
    assert powered
    assert [c.id for c in powered if not {"on-jacks", "gear-powered"} & set(c.needs)] == []
    assert "on-jacks" in book.conditions["gear-powered"].implies


def test_flight_is_recorded_and_never_proposed(book: Book) -> None:
    """A check in flight, and flight as a condition, are not proposed."""
    assert not book.conditions["flight"].proposed
    assert all(not c.proposed for c in book.checks.values() if "flight" in c.needs)


def test_every_action_on_the_gear_is_proved(book: Book) -> None:
    """No repair without a follow-up check."""
    assert [a.id for a in book.actions.values() if not a.follow_up] == []


def test_no_hand_is_in_a_well_before_the_pressure_is_off() -> None:
    """Engine-driven: pressure let off, then hands into the wells; back the other way (common practice, no source)."""
    found = read_book([KNOWLEDGE], "engine-driven").book
    assert found is not None
    moves = Moves(found.conditions)
    both = ("wells-cleaned", "system-bled")
    order = moves.move(frozenset(), both).on
    back = moves.restore_all(moves.closure(both)).off
    assert order.index("system-bled") < order.index("wells-cleaned")
    assert back.index("wells-cleaned") < back.index("system-bled")
