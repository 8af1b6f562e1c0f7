"""What all sets larger than the limit can weigh, against every such set summed."""

from __future__ import annotations

import math

import pytest

from faulttree.belief import Believer, Evidence
from faulttree.belief.bound import log_weight_beyond
from tests.support.books import fault, make_book


@pytest.mark.parametrize(("number", "chance"), [(3, 0.25), (8, 0.25), (20, 0.25), (40, 0.25), (80, 0.01)])
def test_with_nothing_known_the_bound_is_the_weight_of_all_larger_sets(number: int, chance: float) -> None:
    """Elementary symmetric sums: with n alike faults of odds o all sets weigh (1 + o)^n, those of k (n over k) o^k.

    Faults as likely as a quarter are no gear's; with some dozens of them the many large sets weigh more than the few
    small. Of eighty seldom ones the largest sets are not summed any more, but bounded together.
    """
    names = [f"f.{n}" for n in range(number)]
    made = make_book([fault(name, probability=chance) for name in names])
    space = Believer(made, size_limit=2).frame(Evidence(), also=names).space
    odds = chance / (1.0 - chance)
    small = sum(math.comb(number, size) * odds**size for size in range(3))
    assert log_weight_beyond(space, [], []) == pytest.approx(math.log((1.0 + odds) ** number - small), abs=2e-6)
