"""Moves from many standings told as one."""

from __future__ import annotations

from itertools import combinations

import pytest

from faulttree.book.model import Condition
from faulttree.conditions import Moves
from faulttree.workshop.oneway import OneWay, Ways, as_few, as_one

CONDITIONS = {
    c.id: c
    for c in (
        Condition("jacks", "On jacks", "", "", 10.0, 5.0, not_while=("prop",)),
        Condition("power", "Power on", "", "", 1.0, 1.0, not_while=("prop",)),
        Condition("prop", "Leg propped", "", "", 2.0, 2.0),
        Condition("wheels", "On its wheels", "", "", 0.0, 0.0, excludes=("jacks",)),
    )
}
MOVES = Moves(CONDITIONS)


def ways(standings: list[frozenset[str]], needs: tuple[str, ...]) -> Ways:
    """What the program moves from each standing."""
    found: Ways = {}
    for standing in standings:
        move = MOVES.move(standing, needs)
        found.setdefault((move.off, move.on), []).append(sorted(standing))
    return found


STANDINGS = [
    frozenset(names) for many in range(4) for names in combinations(sorted(CONDITIONS), many)
    if not {"jacks", "wheels"} <= set(names)
]  # fmt: skip


@pytest.mark.parametrize("needs", [("jacks",), ("power",), ("jacks", "power"), ("wheels",), ("prop",)])
def test_one_way_comes_to_the_same_from_each_standing(needs: tuple[str, ...]) -> None:
    """What whoever follows puts back and sets up is what the program moves."""
    told = as_one(MOVES, ways(STANDINGS, needs), needs)
    assert told is not None
    moves = {standing: MOVES.move(standing, needs) for standing in STANDINGS}
    assert {s: told.followed(s) for s in STANDINGS} == {s: (m.off, m.on) for s, m in moves.items()}


def test_what_only_bars_another_move_is_put_back_only_for_that() -> None:
    """The prop stays where the aircraft is on its jacks already."""
    told = as_one(MOVES, ways([frozenset({"prop"}), frozenset({"prop", "jacks"})], ("jacks",)), ("jacks",))
    assert told is not None
    assert told.since == {"prop": ("jacks",)}


def test_what_always_goes_is_put_back_wherever_it_stands() -> None:
    """No reason is told."""
    told = as_one(MOVES, ways([frozenset({"prop"}), frozenset()], ("jacks",)), ("jacks",))
    assert told == OneWay(("prop",), ("jacks",), {})


def test_ways_that_no_rule_tells_apart_are_not_told_as_one() -> None:
    """Here one standing would be moved as the program never does."""
    odd: Ways = {(("prop",), ()): [["power", "prop"]], ((), ()): [["prop"]]}
    assert as_one(MOVES, odd, ()) is None


def test_what_no_one_rule_tells_is_parted_by_what_stands() -> None:
    """Two tellings, each for the standings that it names."""
    odd: Ways = {(("prop",), ()): [["power", "prop"]], ((), ()): [["prop"]]}
    assert as_few(MOVES, odd, ()) == [
        ((("power", True),), OneWay(("prop",), (), {})), ((("power", False),), OneWay((), (), {})),
    ]  # fmt: skip


def test_one_rule_where_there_is_one_asks_nothing() -> None:
    wanted = ways(STANDINGS, ("jacks",))
    assert as_few(MOVES, wanted, ("jacks",)) == [((), as_one(MOVES, wanted, ("jacks",)))]


def test_ways_from_the_same_standing_part_by_nothing() -> None:
    """Two that differ though the same stands: told one by one."""
    assert as_few(MOVES, {(("prop",), ()): [["prop"]], ((), ()): [["prop"]]}, ()) == []
