"""Which numbered fault sets hold each fault: by counting them up, at one go and a fault at a time."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from faulttree.belief import Believer, Evidence, Reported, space
from faulttree.belief.space import FaultSpace
from tests.support.books import fault, gate, make_book, symptom


def of_faults(count: int, limit: int) -> FaultSpace:
    names = [f"f{place}.bad" for place in range(count)]
    faults = [fault(name, probability=0.1) for name in names]
    book = make_book(faults, events=[gate("any", "any_of", *names)], symptoms=[symptom("s", "any")])
    return Believer(book, limit).frame(Evidence((Reported("s"),))).space


@pytest.mark.parametrize("held", [1, space.MOST_HELD], ids=["one by one", "at one go"])
@pytest.mark.parametrize("limit", [1, 2, 3])
@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_a_set_holds_the_faults_that_it_is_numbered_by(
    count: int, limit: int, held: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(space, "MOST_HELD", held)
    faults = of_faults(count, limit)
    wanted = np.zeros((count, faults.n_subsets), dtype=np.bool_)
    for size in range(faults.limit + 1):
        for chosen in combinations(range(count), size):
            wanted[list(chosen), faults.rank(np.array([chosen], dtype=np.int64).reshape(1, size))[0]] = True
    assert (np.unpackbits(faults.presence(), axis=1, count=faults.n_subsets) == wanted).all()
