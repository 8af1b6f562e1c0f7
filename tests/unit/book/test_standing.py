"""Whether needs can stand, held against a search over all orders of setting up."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.book.model import Condition
from faulttree.book.standing import why_never, with_implied

IDS = ("a", "b", "c", "d")


def _condition(name: str, implies: tuple[str, ...], excludes: tuple[str, ...], not_while: tuple[str, ...]) -> Condition:
    return Condition(name, name, "", "", 1, 1, implies=implies, excludes=excludes, not_while=not_while)


def _some() -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(IDS), max_size=2, unique=True).map(tuple)


CONDITIONS = st.tuples(*(st.builds(_condition, st.just(name), _some(), _some(), _some()) for name in IDS)).map(
    lambda found: {condition.id: condition for condition in found}
)


def _can_be_set_up(needs: tuple[str, ...], conditions: dict[str, Condition]) -> bool:
    """Tries every order: none stands with what it excludes, before what it implies, or set up while barred."""
    wanted = with_implied(needs, conditions)
    if any(other in wanted for name in wanted for other in conditions[name].excludes):
        return False
    for order in permutations(wanted):
        standing: set[str] = set()
        for name in order:
            condition = conditions[name]
            if not standing.issuperset(condition.implies) or not standing.isdisjoint(condition.not_while):
                break
            if name in condition.not_while:
                break
            standing.add(name)
        else:
            return True
    return False


@given(CONDITIONS, st.lists(st.sampled_from(IDS), min_size=1, max_size=3, unique=True))
def test_needs_can_stand_if_some_order_sets_them_up(conditions: dict[str, Condition], needs: list[str]) -> None:
    """The answer agrees with trying every order of setting up what is needed and implied."""
    assert (why_never(needs, conditions) is None) == _can_be_set_up(tuple(needs), conditions)


def test_implied_conditions_are_followed_to_the_end() -> None:
    """What is implied by what is implied is wanted too."""
    conditions = {
        "a": _condition("a", ("b",), (), ()),
        "b": _condition("b", ("c",), (), ()),
        "c": _condition("c", (), (), ()),
        "d": _condition("d", (), (), ()),
    }
    assert with_implied(["a"], conditions) == ("a", "b", "c")


@pytest.mark.parametrize(
    ("implies", "excludes", "words"),
    [
        ((), ("a",), "`a` excludes itself"),
        (("b",), ("b",), "`a` excludes `b` (`b` is implied)"),
    ],
)
def test_the_reason_names_the_pair(implies: tuple[str, ...], excludes: tuple[str, ...], words: str) -> None:
    """Who excludes whom is said, and whether it came in by being implied."""
    conditions = {"a": _condition("a", implies, excludes, ()), "b": _condition("b", (), (), ())}
    assert why_never(["a"], conditions) == words
