"""Jobs followed all ways against jobs that are drawn: the same mean, by two ways that share the advice alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.jobs.all_ways import AllWays
from tests.jobs.gear import Gear, Job, Modes, pool
from tests.jobs.run import Player
from tests.support.small_family import small_book

SYMPTOM = "stays-down"
JOBS = 300


@pytest.fixture(scope="module")
def player() -> Player:
    return Player(small_book())


def test_the_mean_is_that_of_drawn_jobs(player: Player) -> None:
    """Within four standard errors."""
    book = player.book
    gears: list[Modes] = pool(book, SYMPTOM, np.random.default_rng(3), JOBS)
    opening = {q.id: next(a.id for a in q.answers if not a.first) for q in book.opening}
    minutes = []
    for number in range(JOBS):
        gear = Gear(book, SYMPTOM, gears, np.random.default_rng([4, number]))
        one = player.play(Job(number, SYMPTOM, gear, None, frozenset(), opening))
        minutes.append(one.minutes + book.defaults.comeback * one.hidden)
    error = float(np.std(minutes, ddof=1)) / JOBS**0.5
    assert abs(AllWays(player, book, 1e-4).minutes(SYMPTOM) - np.mean(minutes)) < 4 * error


def test_what_is_foretold_stands_for_what_is_followed(player: Player) -> None:
    """With everything below one in ten foretold the mean is within a twentieth of that of all ways."""
    whole = AllWays(player, player.book, 1e-4).minutes(SYMPTOM)
    assert AllWays(player, player.book, 0.1).minutes(SYMPTOM) == pytest.approx(whole, rel=0.05)


def test_wrong_rates_cost_minutes(player: Player) -> None:
    """Advice that takes the likeliest fault for the rarest takes longer (common practice, no source)."""
    book = player.book
    likeliest = max(book.faults.values(), key=lambda fault: fault.rate or 0.0)
    rare = replace(likeliest, rate=(likeliest.rate or 0.0) / 300)
    wrong = Player(replace(book, faults={**book.faults, rare.id: rare}))
    assert AllWays(wrong, book, 1e-4).minutes(SYMPTOM) > AllWays(player, book, 1e-4).minutes(SYMPTOM)
