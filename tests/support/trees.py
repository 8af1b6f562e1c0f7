"""Small random trees of gates, and what holds in them, read word by word for one fault set at a time."""

from __future__ import annotations

from itertools import combinations

from hypothesis import settings
from hypothesis import strategies as st

from faulttree.book.model import Book, Event
from tests.support.books import fault, gate, make_book
from tests.support.share import many

FAULTS = ("a", "b", "c", "d", "e")
COHERENT = ("any_of", "all_of", "at_least")
ALL_GATES = (*COHERENT, "not")
WORLDS = [frozenset(some) for size in range(len(FAULTS) + 1) for some in combinations(FAULTS, size)]
"""Every set of these faults, smaller ones first."""

Probabilities = dict[str, float]

law = settings(deadline=None, derandomize=True, max_examples=many(40, 150))
"""For tests that must hold for any tree: the same trees in every run."""


@st.composite
def trees(draw: st.DrawFn, gates: tuple[str, ...] = ALL_GATES) -> Book:
    """One to seven events over five faults, each looking at faults and earlier events; the last is ``top``."""
    events: list[Event] = []
    last = draw(st.integers(0, 6))
    for number in range(last + 1):
        kind = draw(st.sampled_from(gates))
        names = [*FAULTS, *(event.id for event in events)]
        of = draw(st.lists(st.sampled_from(names), min_size=kind != "any_of", max_size=4, unique=True))
        count = draw(st.integers(1, len(of))) if kind == "at_least" else 0
        events.append(gate("top" if number == last else f"e{number}", kind, *of, count=count))
    return make_book([fault(name) for name in FAULTS], events)


def probabilities(low: float = 0.0, high: float = 1.0) -> st.SearchStrategy[Probabilities]:
    """A probability for each fault."""
    return st.fixed_dictionaries({name: st.floats(low, high) for name in FAULTS})


def holds(book: Book, name: str, standing: frozenset[str]) -> bool:
    """One fault or event on one fault set, by the words of the gates."""
    if name in book.faults:
        return name in standing
    event = book.events[name]
    number = [holds(book, part, standing) for part in event.of].count(True)
    if event.gate == "any_of":
        return number >= 1
    if event.gate == "all_of":
        return number == len(event.of)
    return number >= event.count if event.gate == "at_least" else number == 0


def weight(p: Probabilities, world: frozenset[str]) -> float:
    """The probability that exactly these faults stand."""
    product = 1.0
    for name in FAULTS:
        product *= p[name] if name in world else 1.0 - p[name]
    return product


def smallest(sets: list[frozenset[str]]) -> set[frozenset[str]]:
    """Those that contain no other."""
    return {one for one in sets if not any(other < one for other in sets)}
