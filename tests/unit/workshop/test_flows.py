"""What comes along the ways of a plan, put together where it is light."""

from __future__ import annotations

import numpy as np
import pytest

from faulttree.workshop.flows import MOST_GROUPS, MOST_STORIES, Flow, Story, put_together, remembered

ROWS, BITS, MANY = 7, 12, 60


@pytest.fixture(scope="module")
def flow() -> Flow:
    """Many light stories on a few standings, each with some of a dozen bits."""
    rng = np.random.default_rng(3)
    return {
        Story(frozenset({f"c{n % 9}"}), int(rng.integers(1 << BITS)), n % 2): rng.random(ROWS) * 1e-4
        for n in range(MANY)
    }


def test_nothing_gets_lost(flow: Flow) -> None:
    """Row by row the same weights."""
    whole = [np.sum(list(part.values()), axis=0) for part in (flow, put_together(flow))]
    assert whole[1] == pytest.approx(whole[0])


def test_what_is_remembered_stays_so(flow: Flow) -> None:
    """As much of each row has done each thing, however often what comes along was put together."""
    before, after = remembered(flow), remembered(put_together(put_together(flow)))
    assert {bit: after[bit].tolist() for bit in before} == {
        bit: pytest.approx(part.tolist()) for bit, part in before.items()
    }


def test_few_are_left(flow: Flow) -> None:
    """No more than are told apart."""
    assert len(put_together(flow)) <= MOST_STORIES + MOST_GROUPS + 1


def test_a_heavy_story_stays_as_it_is() -> None:
    """Beside light ones."""
    heavy, light = Story(frozenset(), 5), [Story(frozenset(), known) for known in (1, 2)]
    found = put_together({heavy: np.ones(ROWS), **{one: np.full(ROWS, 1e-9) for one in light}})
    assert found[heavy].tolist() == [1.0] * ROWS
