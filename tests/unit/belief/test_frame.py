"""Which outcome is the true one, for one check over all fault sets and for many over a few."""

from __future__ import annotations

import numpy as np
import pytest

from faulttree.belief import Believer, Evidence, Reported
from tests.jobs.run import shipped_book


@pytest.mark.parametrize("family", ["electromechanical", "power-pack"])
def test_many_checks_at_once_are_each_as_alone(family: str) -> None:
    """Checks of two to many outcomes, on every third of the sets that a symptom leaves."""
    book = shipped_book(family)
    frame = Believer(book, size_limit=2).believe(Evidence((Reported("stops-coming-down"),))).replay.frame
    numbers = np.arange(0, frame.space.n_subsets, 3)
    checks, squawk = list(book.checks.values()), ("stops-coming-down",)
    together = frame.true_at(checks, squawk, numbers)
    assert max(len(check.outcomes) for check in checks) > 3
    for check, true in zip(checks, together, strict=True):
        assert true.tolist() == frame.true_outcome(check, squawk)[numbers].tolist(), check.id
