"""Go-to charts of the shipped book, followed on simulated gears; `tests/jobs/chart_followed.py` does all symptoms."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from faulttree.book.model import Book
from faulttree.papers import page_count
from faulttree.workshop.chart import Limits, fitting
from tests.jobs.chart_followed import PAGES
from tests.jobs.follower import Chance, Follower
from tests.jobs.gear import Gear
from tests.jobs.run import draw_pools, shipped_book
from tests.support.share import share

SYMPTOMS = {
    "electromechanical": "will-not-retract", "power-pack": "up-light-but-not-up", "engine-driven": "noise-in-transit",
}  # fmt: skip
GEARS, MANY, SEED = 60, 400, 11
FEW = Limits(steps=10)


@cache
def compiled(family: str) -> dict[str, Any]:
    """The chart of a family's symptom, which takes a while; nobody may change it."""
    return fitting(shipped_book(family), SYMPTOMS[family], PAGES, FEW)


@pytest.fixture(scope="module", params=share(SYMPTOMS, 3, "charts"))
def charted(request: pytest.FixtureRequest) -> tuple[Book, dict[str, Any]]:
    return shipped_book(request.param), compiled(request.param)


def gears(book: Book, symptom: str) -> list[Gear]:
    """Gears with something wrong, the same each time."""
    drawn = draw_pools(book, SEED, [symptom], 60)[symptom]
    return [Gear(book, symptom, drawn, np.random.default_rng([SEED, n])) for n in range(GEARS)]


def wrong(book: Book, chart: dict[str, Any]) -> set[str]:
    """All that goes wrong on the way by a chart."""
    follower = Follower(book, chart)
    return {told for gear in gears(book, chart["symptom"]["id"]) for told in follower.follow(gear).wrong}


def test_whoever_follows_skips_no_caution_and_comes_to_an_end(charted: tuple[Book, dict[str, Any]]) -> None:
    """Cautions, moves, what was found against a step, ways on."""
    assert wrong(*charted) == set()


def test_no_way_at_all_goes_wrong(charted: tuple[Book, dict[str, Any]]) -> None:
    """Each outcome as likely as another, so that what no gear shows is walked too; nearly every step is come to."""
    book, chart = charted
    follower, walks = Follower(book, chart), []
    for number in range(MANY):
        walks.append(follower.follow(Chance(book, [SEED, number])))
    assert {told for walk in walks for told in walk.wrong} == set()
    walked = {step for walk in walks for step in walk.steps}
    steps = {step["number"] for step in chart["steps"] if step["kind"] != "help"}
    assert len(walked & steps) > 0.9 * len(steps)


def test_it_fits_on_its_pages(charted: tuple[Book, dict[str, Any]]) -> None:
    """Four."""
    assert page_count(charted[1]) <= PAGES


def test_the_minutes_told_bear_out() -> None:
    """Whoever follows on many gears takes as long as is printed: within four standard errors and a tenth."""
    book, symptom = shipped_book("electromechanical"), SYMPTOMS["electromechanical"]
    chart, drawn = compiled("electromechanical"), draw_pools(book, SEED, [symptom], MANY)[symptom]
    follower = Follower(book, chart)
    walks = [follower.follow(Gear(book, symptom, drawn, np.random.default_rng([SEED, n]))) for n in range(MANY)]
    minutes, told = np.array([walk.minutes for walk in walks]), chart["minutes"]["chart"]
    assert abs(minutes.mean() - told) < 4.0 * minutes.std() / MANY**0.5 + 0.1 * told


def test_there_is_more_to_a_chart_than_the_call_for_help(charted: tuple[Book, dict[str, Any]]) -> None:
    """Checks, and repairs that may end it."""
    kinds = {step["kind"] for step in charted[1]["steps"]}
    assert {"check", "act", "help"} <= kinds


def spoiled_caution(chart: dict[str, Any]) -> None:
    for step in chart["steps"]:
        step["cautions"] = []


def spoiled_way(chart: dict[str, Any]) -> None:
    for step in chart["steps"][1:]:
        for outcome in step["outcomes"]:
            outcome["go"] = 1


def spoiled_moves(chart: dict[str, Any]) -> None:
    for step in chart["steps"]:
        for way in step["moves"]:
            way["set_up"] = []


@pytest.mark.parametrize(
    ("spoil", "words"),
    [(spoiled_caution, "lacks"), (spoiled_way, "not a later one"), (spoiled_moves, "does not stand")],
)
def test_what_is_wrong_in_a_chart_is_seen(spoil: Any, words: str) -> None:
    """A caution left out, a way back, a set-up left out."""
    book, chart = shipped_book("electromechanical"), deepcopy(compiled("electromechanical"))
    spoil(chart)
    assert any(words in told for told in wrong(book, chart))


def test_a_question_that_an_answer_settled_is_seen(charted: tuple[Book, dict[str, Any]]) -> None:
    """Here every answer is taken to settle all checks but its own; the chart was made where none did."""
    book, chart = charted
    asks = {step["id"] for step in chart["steps"] if step["kind"] in ("ask", "check") and not step["by_leg"]}
    settled = {
        name: replace(book.checks[name], outcomes=tuple(
            replace(o, needless=tuple(a for a in sorted(asks) if a != name)) for o in book.checks[name].outcomes
        ))
        for name in asks
    }  # fmt: skip
    told = wrong(replace(book, checks={**book.checks, **settled}), chart)
    assert any("made needless" in one for one in told)
