"""Gates, cut sets and probabilities of random trees against plain enumeration of all fault sets."""

from __future__ import annotations

from itertools import combinations
from random import Random

import networkx as nx
import numpy as np
import pytest

from faulttree.book.model import Book, Event, Fault
from faulttree.errors import UnknownName
from faulttree.graph.cutsets import minimal_cut_sets
from faulttree.graph.digraph import digraph
from faulttree.graph.gates import Gates
from faulttree.graph.quantify import Diagram
from tests.support.random_books import bare_book

FAULTS = "abcde"


def random_tree(seed: int, gates: tuple[str, ...]) -> Book:
    random = Random(seed)
    names = list(FAULTS)
    events = []
    for i in range(5):
        of = tuple(random.sample(names, random.randint(1, 3)))
        events.append(Event(f"e{i}", "", random.choice(gates), of, random.randint(1, len(of))))
        names.append(f"e{i}")
    return bare_book([Fault(f, f, None, f, probability=random.uniform(0.05, 0.6)) for f in FAULTS], events)


def holds(book: Book, name: str, present: frozenset[str]) -> bool:
    if name in book.faults:
        return name in present
    event = book.events[name]
    n = sum(holds(book, part, present) for part in event.of)
    wanted = {"any_of": n > 0, "all_of": n == len(event.of), "at_least": n >= event.count, "not": n == 0}
    return wanted[event.gate]


def worlds() -> list[frozenset[str]]:
    return [frozenset(some) for size in range(6) for some in combinations(FAULTS, size)]


ALL_GATES = ("any_of", "all_of", "at_least", "not")


@pytest.mark.parametrize("seed", range(40))
def test_gates_hold_where_enumeration_says(seed: int) -> None:
    """Packed evaluation over all 32 fault sets equals evaluating each alone."""
    book = random_tree(seed, ALL_GATES)
    every = worlds()
    bits = np.packbits(np.array([[f in world for world in every] for f in FAULTS]), axis=1)
    truth = Gates(book).truth(["e4"], list(FAULTS), bits)["e4"]
    assert np.unpackbits(truth, count=32).tolist() == [int(holds(book, "e4", world)) for world in every]


@pytest.mark.parametrize("seed", range(40))
def test_the_probability_is_the_sum_over_all_worlds(seed: int) -> None:
    """The exact probability is the sum of the probabilities of the fault sets in which the event holds."""
    book = random_tree(seed, ALL_GATES)
    p = {f: book.faults[f].probability or 0.0 for f in FAULTS}
    total = 0.0
    for world in worlds():
        if holds(book, "e4", world):
            total += float(np.prod([p[f] if f in world else 1 - p[f] for f in FAULTS]))
    assert Diagram(book, "e4").probability(p) == pytest.approx(total, abs=1e-12)


@pytest.mark.parametrize("gates", [("any_of", "all_of", "at_least"), ALL_GATES])
@pytest.mark.parametrize("seed", range(40))
def test_cut_sets_are_the_smallest_worlds(seed: int, gates: tuple[str, ...]) -> None:
    """Minimal cut sets are the minimal fault sets that alone make the event hold."""
    book = random_tree(seed, gates)
    true = [world for world in worlds() if holds(book, "e4", world)]
    minimal = {one for one in true if not any(other < one for other in true)}
    assert set(minimal_cut_sets(book, "e4")) == minimal


@pytest.mark.parametrize("seed", range(10))
def test_importance_by_its_definition(seed: int) -> None:
    """Birnbaum's is the difference of two conditional probabilities; Fussell-Vesely's the share of its cut sets."""
    book = random_tree(seed, ("any_of", "all_of", "at_least"))
    p = {f: book.faults[f].probability or 0.0 for f in FAULTS}
    weight = {w: float(np.prod([p[f] if f in w else 1 - p[f] for f in FAULTS])) for w in worlds()}
    total = sum(weight[w] for w in worlds() if holds(book, "e4", w))
    cut_sets = minimal_cut_sets(book, "e4")
    for fault, found in Diagram(book, "e4").importance(p).items():
        given = [sum(weight[w] for w in worlds() if (fault in w) is b and holds(book, "e4", w)) for b in (True, False)]
        assert found.birnbaum == pytest.approx(given[0] / p[fault] - given[1] / (1 - p[fault]), abs=1e-12)
        mine = sum(weight[w] for w in worlds() if any(fault in c and c <= w for c in cut_sets))
        assert found.fussell_vesely == pytest.approx(mine / total, abs=1e-12)


def test_the_graph_is_acyclic_and_leads_from_cause_to_effect() -> None:
    """Every edge leads from a fault or event to what looks at it, and there is no ring."""
    graph = digraph(random_tree(1, ALL_GATES))
    assert nx.is_directed_acyclic_graph(graph)
    assert all(graph.nodes[name]["kind"] == "fault" for name in graph if graph.in_degree(name) == 0)


def test_an_unknown_name_is_refused() -> None:
    """Asking for an event that the book does not have names it."""
    with pytest.raises(UnknownName, match="'x'"):
        minimal_cut_sets(random_tree(1, ALL_GATES), "x")
