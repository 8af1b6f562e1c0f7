"""How the rest of a job is foretold: which of many improbable ways are followed, and what is fetched."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from faulttree.advice.choice import Step
from faulttree.advice.forecast import LUMPS, NEAR_STEPS, Forecast, _Open, _Part
from faulttree.advice.situation import KINDS
from tests.support.books import condition
from tests.unit.advice.two_faults import FIGURES, book, play

CUT = 0.1 / LUMPS
"""So that a lump is a tenth."""


def forecast() -> Forecast:
    made = play(book())
    return Forecast(made.play, made.state, Step("check", 0), CUT)


def ways(forecast: Forecast, *chances: float) -> list[_Open]:
    """Improbable ways of different lengths."""
    state = play(book()).state
    return [_Open(chance, state, _Part(np.full(len(KINDS), float(n)), 0.0), 1) for n, chance in enumerate(chances, 1)]


def test_ways_as_likely_as_a_lump_are_each_followed_once() -> None:
    """Drawn evenly from the short to the long ones, none is left out and none counts twice."""
    told = forecast()
    four = ways(told, 0.1, 0.1, 0.1, 0.1)
    drawn = told._some_for_all(list(four))
    assert [way.so_far.minutes[0] for way in drawn] == [1.0, 2.0, 3.0, 4.0]
    assert [way.chance for way in drawn] == pytest.approx([0.1] * 4)


@pytest.mark.parametrize("chance", [0.07, 0.12, 0.14])
def test_one_way_stands_for_what_is_hardly_more_than_a_lump(chance: float) -> None:
    """With all of the weight."""
    told = forecast()
    (drawn,) = told._some_for_all(ways(told, chance / 3, chance / 3, chance / 3))
    assert drawn.chance == pytest.approx(chance)


def test_what_weighs_less_than_a_way_that_is_followed_is_let_go() -> None:
    told = forecast()
    assert told._some_for_all(ways(told, CUT / 4, CUT / 4)) == []


@pytest.mark.parametrize(("chance", "people"), [(0.25, 3), (0.24, 1)])
def test_people_are_called_for_steps_that_are_likely(chance: float, people: int) -> None:
    """A quarter of the times at least."""
    made = book()
    crowded = play(replace(made, checks={**made.checks, "look": replace(made.checks["look"], people=3)}))
    told = Forecast(crowded.play, crowded.state, Step("act", 0), CUT)
    told.people = 1
    told._remember(crowded.state, Step("check", 0), chance, 1)
    assert told.people == people


def test_each_step_leads_one_deeper() -> None:
    """What is fetched is what the first few want."""
    told = forecast()
    (way,) = ways(told, 1.0)
    onward = list(told._onward(replace(way, depth=2), Step("check", 0)))
    assert {each.depth for each in onward} == {3}


@pytest.mark.parametrize(("depth", "fetched"), [(NEAR_STEPS, ("lamp",)), (NEAR_STEPS + 1, ())])
def test_what_a_later_step_wants_is_not_fetched(depth: int, fetched: tuple[str, ...]) -> None:
    made = book()
    lit = replace(made.checks["look"], equipment=("lamp",))
    wanting = play(replace(made, checks={**made.checks, "look": lit}))
    told = Forecast(wanting.play, wanting.state, Step("help"), CUT)
    told._remember(wanting.state, Step("check", 0), 1.0, depth)
    assert told.fetch().equipment == fetched


@pytest.mark.parametrize(("chance", "fetched"), [(0.25, ("panel",)), (0.24, ())])
def test_what_is_hardly_ever_set_up_is_not_fetched(chance: float, fetched: tuple[str, ...]) -> None:
    """A quarter of the times at least, as with people."""
    made = book()
    behind = replace(made.checks["look"], needs=("panel",))
    conditions = {**made.conditions, "panel": condition("panel", 30.0, 10.0)}
    wanting = play(replace(made, checks={**made.checks, "look": behind}, conditions=conditions))
    told = Forecast(wanting.play, wanting.state, Step("help"), CUT)
    told._remember(wanting.state, Step("check", 0), chance, 1)
    assert told.fetch().conditions == fetched


def test_ways_that_were_let_go_take_their_share_with_them() -> None:
    """Three quarters of the job were followed: the mean is that of these, not of a job a quarter shorter."""
    told = forecast()
    told.ends = [(0.5, _Part(np.full(len(KINDS), 10.0), 0.0)), (0.25, _Part(np.full(len(KINDS), 40.0), 0.0))]
    assert told.to_go().mean == pytest.approx(20.0 * len(KINDS))


@pytest.mark.parametrize(("last", "p80"), [(0.5, 40.0), (0.1, 10.0)])
def test_four_jobs_of_five_are_done_by_then(last: float, p80: float) -> None:
    """The longest way counts too, where it is likely."""
    told = forecast()
    told.ends = [(1.0 - last, _Part(np.full(len(KINDS), 10.0), 0.0)), (last, _Part(np.full(len(KINDS), 40.0), 0.0))]
    assert told.to_go().p80 == p80 * len(KINDS)


def test_what_is_set_up_for_a_proof_is_counted() -> None:
    """Twenty minutes of jacks for fifteen of cycling."""
    part, after = forecast()._proving(frozenset(), ("proof",), ())
    minutes = dict(zip(KINDS, part.minutes.tolist(), strict=True))
    assert (minutes["setting-up"], minutes["proving"], after) == (20.0, 15.0, frozenset({"jacks"}))


def test_help_takes_the_minutes_that_it_is_said_to_take() -> None:
    made = play(book())
    told = Forecast(made.play, made.state, Step("help"), CUT).to_go()
    assert (told.mean, told.help) == (FIGURES.help, 1.0)
    assert told.split == {word: FIGURES.help if word == "help" else 0.0 for word in KINDS}


@pytest.mark.parametrize(("kind", "set_up"), [("ask", ()), ("look", ("jacks",)), ("test", ("jacks",))])
def test_what_has_to_be_set_up_first_is_not_for_a_question(kind: str, set_up: tuple[str, ...]) -> None:
    made = book()
    asked = play(replace(made, checks={**made.checks, "look": replace(made.checks["look"], kind=kind)}))
    told = Forecast(asked.play, asked.state, Step("help"), CUT)
    assert told._move(replace(asked.state, forced=("jacks",)), asked.job.checks[0], ()).on == set_up
