"""Jobs followed all ways against jobs that are drawn: the same mean, by two ways that share the advice alone."""

from __future__ import annotations

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


def test_ways_that_are_drawn_stand_for_all(player: Player) -> None:
    """With much left to chance the mean over many seeds is that of all ways, within four standard errors."""
    whole = AllWays(player, player.book, 1e-4).minutes(SYMPTOM)
    drawn = [AllWays(player, player.book, 0.5, seed).minutes(SYMPTOM) for seed in range(30)]
    assert abs(np.mean(drawn) - whole) < 4 * np.std(drawn, ddof=1) / len(drawn) ** 0.5
