"""What the runner of regression cases holds against a case."""

from __future__ import annotations

import pytest

from faulttree.book.cases import Expect, RegressionCase
from faulttree.book.positions import Position
from faulttree.workshop.regression import CaseRunner
from tests.support.small_family import small_book


def misses(expect: Expect) -> tuple[str, ...]:
    """What a case of the made-up family, known by its squawk alone, does not bring out."""
    at = Position("made-up/x.cases.yaml", 1)
    case = RegressionCase(
        "x", at, "A case.", "constructed", "made-up", (), ("stays-down",), (), None, (), None, (), (), expect
    )
    return CaseRunner(lambda fitted: small_book()).run(case).misses


@pytest.mark.parametrize("order", [("guard-switch",), ("guard-switch", "motor")])
def test_the_order_of_components_that_comes_out_passes(order: tuple[str, ...]) -> None:
    """The switch's two faults have 0.5 together, the motor's one 0.3."""
    assert misses(Expect(order=order)) == ()


@pytest.mark.parametrize("order", [("motor",), ("motor", "guard-switch")])
def test_any_other_order_is_a_miss_that_names_both(order: tuple[str, ...]) -> None:
    """With the shares that came out and the order that was wanted."""
    (miss,) = misses(Expect(order=order))
    assert miss.endswith(f"wanted {', '.join(order)}")
    assert "guard-switch 6" in miss


def test_a_cause_and_a_step_that_do_not_come_out_are_two_misses() -> None:
    """One sentence each."""
    assert len(misses(Expect(cause="guard-switch.lead-chafed", within=1, next=("help",)))) == 2
