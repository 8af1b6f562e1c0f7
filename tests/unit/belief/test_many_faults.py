"""Where more faults are reached than sets of three can be held of, sets of two have to do, and it is told."""

from __future__ import annotations

import pytest

from faulttree.belief import Belief, Believer, Evidence, Reported, plain
from faulttree.book import read_texts
from tests.support.books import check, fault, gate, make_book, symptom
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


@pytest.mark.parametrize(("detects", "false_alarm"), [(0.95, 0.02), (1.0, 0.0)], ids=["errs", "never errs"])
@pytest.mark.parametrize("outcome", [None, "seen", "fine"])
def test_one_answer_bounds_the_rest_by_what_it_says(outcome: str | None, detects: float, false_alarm: float) -> None:
    """Six faults at a fifth each, sets of two: the bound is what all larger sets weigh where all sets are held."""
    names = [f"f{place}.bad" for place in range(6)]
    book = make_book(
        [fault(name, probability=0.2) for name in names], events=[gate("any", "any_of", *names)],
        symptoms=[symptom("s", "any")],
        checks=[check("look", seen=names[0], detects=detects, false_alarm=false_alarm)],
    )  # fmt: skip
    told = Evidence((Reported("s"), *([plain(book, "look", outcome)] if outcome else [])))
    whole = Believer(book, size_limit=None).believe(told)
    larger = (whole.replay.modes >= 0).sum(axis=1) > 2
    assert Believer(book, size_limit=2).believe(told).left_out == pytest.approx(float(whole.rows[larger].sum()))


def test_the_rest_is_a_ranking_of_all(belief: Belief) -> None:
    assert len(belief.faults) == FAULTS
    assert float(belief.rows.sum()) + belief.unlisted == pytest.approx(1.0)
