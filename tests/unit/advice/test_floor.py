"""The cost of known work, by hand: moves, waits, care, people, parts, and the cheapest order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice import Figures
from faulttree.advice.floor import Floor
from faulttree.book.model import THE_SQUAWK, Book, Check, Outcome
from faulttree.conditions import Moves
from tests.support.books import action, condition, fault, make_book

NOTHING: frozenset[str] = frozenset()
PLAIN = Figures(care=7.0, wait_weight=0.5, help=9000.0, comeback=0.0)
PAID = replace(PLAIN, hourly_rate=60.0, prices={"mend": 30.0})


def book() -> Book:
    """A repair on jacks and one with the panel out, which is moved only off the jacks; proved on jacks."""
    outcomes = (Outcome("squawk", "squawk", THE_SQUAWK, 1.0), Outcome("gone", "gone", None, 1.0))
    return make_book(
        [fault("f.dead"), fault("g.dead")],
        checks=[Check("proof", "proof", "test", "now", outcomes, 0.0, 15.0, needs=("jacks",), proof=True)],
        actions=[
            action("mend", "f.dead", needs=("jacks",), minutes=60.0, people=2, waits=0.5),
            action("swap", "g.dead", needs=("panel",), minutes=40.0),
        ],
        conditions=[
            condition("jacks", 20.0, 5.0, people=2, hazard=True, waits=0.25),
            condition("panel", 10.0, 8.0, not_while=("jacks",), people=3),
        ],
    )


def floor(figures: Figures = PLAIN) -> Floor:
    made = book()
    return Floor(made, Moves(made.conditions), figures, ("proof",))


def test_moving_counts_minutes_waits_and_care() -> None:
    """Twenty minutes, a quarter of an hour of waiting at half its weight, one hazard."""
    assert floor().moving(NOTHING, ("jacks",)) == (pytest.approx(20.0 + 60.0 * 0.25 * 0.5 + 7.0), {"jacks"})


def test_with_a_rate_moving_counts_every_person() -> None:
    """Two on jacks; from there to the panel down with two and out with three."""
    paid = floor(PAID)
    assert paid.moving(NOTHING, ("jacks",))[0] == pytest.approx(2 * 20.0 + 60.0 * 0.25 * 0.5 + 7.0)
    assert paid.moving(frozenset({"jacks"}), ("panel",))[0] == pytest.approx(2 * 5.0 + 3 * 10.0)


def test_work_counts_minutes_waits_people_and_parts() -> None:
    """Half an hour of waiting at half its weight; with a rate twice the minutes, and the part as minutes bought."""
    mend = book().actions["mend"]
    assert floor().of_work(mend) == pytest.approx(60.0 + 15.0)
    assert floor(PAID).of_work(mend) == pytest.approx(120.0 + 15.0 + 30.0)


def test_a_price_is_told_in_minutes_of_one_person() -> None:
    """Thirty at ninety an hour are twenty minutes; nothing where rate or price is not known."""
    assert replace(PAID, hourly_rate=90.0).part_minutes("mend") == pytest.approx(20.0)
    assert replace(PAID, hourly_rate=None).part_minutes("mend") == 0.0
    assert PAID.part_minutes("swap") == 0.0


def test_a_repair_is_priced_with_its_proof() -> None:
    """The jacks stand for both."""
    cost = floor().of_repair(NOTHING, book().actions["mend"], ())
    assert cost is not None
    assert cost == (pytest.approx(34.5 + 75.0 + 15.0), {"jacks"})


def test_a_step_whose_needs_cannot_stand_together_has_no_price() -> None:
    """The panel is wanted with what excludes it."""
    made = book()
    panel = replace(made.conditions["panel"], excludes=("jacks",))
    made = replace(made, conditions={**made.conditions, "panel": panel})
    at = Floor(made, Moves(made.conditions), PLAIN, ("proof",))
    assert at.of_repair(NOTHING, made.actions["swap"], ("jacks",)) is None
    assert at.of_check(NOTHING, made.checks["proof"], ("panel",)) is None
    assert at.of_check(NOTHING, made.checks["proof"], ()) is not None


def test_a_plan_is_done_in_its_cheapest_order() -> None:
    """The panel first: its bare move, the jacks once, one proof, all put back; the other way jacks twice."""
    panel, jacks, work = 10.0 + 40.0, 34.5 + 75.0, 15.0 + 5.0 + 8.0
    # What stands at the end is put back: jacks at 5, the panel at 8.
    assert floor().of_plan(NOTHING, frozenset({"mend", "swap"})) == pytest.approx(panel + jacks + work)


def test_the_plan_of_nothing_is_the_bare_proof() -> None:
    """Up, proved, down again."""
    assert floor().of_plan(NOTHING, NOTHING) == pytest.approx(34.5 + 15.0 + 5.0)
    assert floor().of_plan(frozenset({"jacks"}), NOTHING) == pytest.approx(15.0 + 5.0)


def test_what_an_action_adds_is_its_plan_beyond_the_bare_proof() -> None:
    """For each, from wheels and from jacks."""
    for standing in (NOTHING, frozenset({"jacks"})):
        at = floor()
        by_plan = [at.of_plan(standing, frozenset({name})) - at.of_plan(standing, NOTHING) for name in ("mend", "swap")]
        assert floor().adds(standing, ["mend", "swap"]) == pytest.approx(by_plan)


def test_putting_back_counts_every_person_with_a_rate() -> None:
    """Jacks by two, the panel by three."""
    both = frozenset({"jacks", "panel"})
    assert floor().restoring(both) == pytest.approx(13.0)
    assert floor(PAID).restoring(both) == pytest.approx(2 * 5.0 + 3 * 8.0)


def test_a_floor_made_like_another_prices_its_own_proof() -> None:
    """Moves are taken over, not what ends the job."""
    made = book()
    first = floor()
    first.of_plan(NOTHING, NOTHING)
    other = Floor(made, Moves(made.conditions), PLAIN, (), like=first)
    assert other.of_plan(NOTHING, NOTHING) == 0.0
