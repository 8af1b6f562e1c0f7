"""The shortest way that the rules allow for whoever knows the cause: show it, mend it, prove it, put everything back.

Nobody who has to find the cause can be quicker, but for luck with a proof; so it bounds every path from below.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product

from faulttree.advice import Figures
from faulttree.advice.floor import Floor
from faulttree.book.model import Action, Book, Check
from faulttree.conditions import Moves
from faulttree.errors import BadCondition

Standing = frozenset[str]
MOST_WAYS = 200
"""Ways that are tried at most; faults that more combinations of repairs mend are rare."""


def shortest(book: Book, moves: Moves, proofs: tuple[str, ...], faults: Iterable[str]) -> float | None:
    """Minutes on the clock, from nothing standing, of the shortest such way. None where no repair mends a fault."""
    floor = Floor(book, moves, Figures(care=0.0, wait_weight=0.0, help=0.0, comeback=0.0), proofs)
    repairs = [[a for a in book.actions.values() if fault in a.corrects] for fault in sorted(faults)]
    found = [minutes for way in _ways(repairs) for minutes in _of_way(book, floor, way)]
    return min(found, default=None)


def _ways(repairs: list[list[Action]]) -> Iterator[tuple[Action, ...]]:
    for number, way in enumerate(product(*repairs)):
        if number >= MOST_WAYS:
            return
        yield tuple({action.id: action for action in way}.values())


def _of_way(book: Book, floor: Floor, way: tuple[Action, ...]) -> Iterator[float]:
    """Minutes of a way, for each check that shows what its repairs want shown."""
    shown_by: list[list[Check | None]] = [
        [book.checks[c] for c in action.after_any if book.checks[c].proposed] or [None] for action in way
    ]
    for number, checks in enumerate(product(*shown_by)):
        if number >= MOST_WAYS:
            return
        try:
            yield _minutes(floor, way, checks)
        except BadCondition:
            continue


def _minutes(floor: Floor, way: tuple[Action, ...], checks: tuple[Check | None, ...]) -> float:
    cost, standing = 0.0, frozenset[str]()
    for action, check in zip(way, checks, strict=True):
        if check is not None:
            minutes, standing = floor.step(standing, check)
            cost += minutes
        minutes, standing = floor.step(standing, action)
        cost += minutes
    minutes, standing = floor.proving(standing, tuple(action.id for action in way))
    return cost + minutes + floor.restoring(standing)
