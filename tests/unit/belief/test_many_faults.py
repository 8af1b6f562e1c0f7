"""Where more faults are reached than sets of three can be held of, sets of two have to do, and it is told."""

from __future__ import annotations

import pytest

from faulttree.belief import Belief, Believer, Evidence, Reported
from faulttree.book import read_texts
from tests.support.large_books import LARGE, large_texts

FAULTS = 280


@pytest.fixture(scope="module")
def belief() -> Belief:
    reading = read_texts(large_texts(FAULTS, checks=2, wide=FAULTS), LARGE)
    assert reading.book is not None
    return Believer(reading.book).believe(Evidence((Reported("everywhere"),)))


def test_sets_are_smaller(belief: Belief) -> None:
    assert belief.replay.modes.shape[1] == 2


def test_what_they_leave_out_is_told(belief: Belief) -> None:
    assert 1e-6 < belief.left_out < 1.0


def test_the_rest_is_a_ranking_of_all(belief: Belief) -> None:
    assert len(belief.faults) == FAULTS
    assert float(belief.rows.sum()) + belief.unlisted == pytest.approx(1.0)
