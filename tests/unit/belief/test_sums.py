"""What stands, added up over all sets: by runs of sets that lie beside each other, as one set after another."""

from __future__ import annotations

import numpy as np
import pytest

from faulttree.belief import Believer, Did, Evidence, Reported
from faulttree.belief.replay import per_mode
from tests.support.books import action, fault, gate, make_book, symptom

FAULTS = [f"f{place}.bad" for place in range(12)]
BOOK = make_book(
    [fault(name, probability=0.1 + 0.02 * place) for place, name in enumerate(FAULTS)],
    events=[gate("any", "any_of", *FAULTS)], symptoms=[symptom("s", "any", unlisted=0.1)],
    actions=[action("mend", FAULTS[3], effective=0.5)],
)  # fmt: skip


@pytest.mark.parametrize("limit", [1, 2, 3])
def test_sums_by_mode_are_those_of_all_rows(limit: int) -> None:
    """Whatever the weights, and in sets of any size; one column has no runs, one has long ones."""
    base = Believer(BOOK, size_limit=limit).believe(Evidence((Reported("s"),))).replay.frame.base
    weights = np.random.default_rng(limit).random(base.n)
    assert base.by_mode(weights) == pytest.approx(per_mode(base.padded(), weights, len(base.space.mode_fault)))


@pytest.mark.parametrize("entries", [(), (Did("mend"),)], ids=["untouched", "after a repair"])
def test_each_fault_stands_where_its_rows_say(entries: tuple[Did, ...]) -> None:
    """A repair makes new rows, which are no longer in the order of their modes."""
    belief = Believer(BOOK, size_limit=3).believe(Evidence((Reported("s"), *entries)))
    modes, space = belief.replay.modes, belief.replay.frame.space
    for place, name in enumerate(FAULTS):
        here = np.isin(modes, np.flatnonzero(space.mode_fault == place)).any(axis=1)
        assert belief.faults[name].probability == pytest.approx(float(belief.rows[here].sum()))


def test_weights_add_up_to_one() -> None:
    """With the unlisted cause."""
    rows, unlisted = Believer(BOOK, size_limit=3).believe(Evidence((Reported("s"),))).replay.weights()
    assert float(rows.sum()) + unlisted == pytest.approx(1.0)
    assert 0 < unlisted < 1
