"""Published fault trees through our graph: cut sets, exact top-event probability, shares.

Pressure tank: Fault Tree Handbook with Aerospace Applications v1.1 (Stamatelatos and others, NASA, 2002), value of the
exact solver in the FFORT benchmark collection, model "pt" (University of Twente). Tree, probabilities and value were
read in a public test file that quotes both; the five cut sets are the handbook's from memory.
Shares: Fault Tree Handbook NUREG-0492 (1981), cut-set importance table, figures from memory.
Container seal: the same NASA handbook, FFORT model "csd"; read in a public test file that quotes both.
Mooring: Mentes and Helvacioglu, Ocean Engineering 2011, doi 10.1016/j.oceaneng.2010.11.003, FFORT model "SMS_A1";
read in a public test file that quotes both.
Polybox: de Kleer and Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987); conflict {A1,A2,M1,M3},
and diagnosis {A2,M2} read in the lecture Conflict-directed diagnosis (MIT 16.412J, 2004), the rest from memory.
"""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from faulttree.book.model import Book, Event, Fault
from faulttree.graph.cutsets import minimal_cut_sets
from faulttree.graph.quantify import Diagram
from tests.support.random_books import bare_book

GATES = {"or": "any_of", "and": "all_of"}


def tree(gates: dict[str, list[str]], faults: dict[str, float]) -> Book:
    """A book of a published tree; gates are given top down, events are kept bottom up."""
    events = [Event(name, name, GATES[gate], tuple(of)) for name, (gate, *of) in reversed(gates.items())]
    return bare_book([Fault(f, f, None, f, probability=p) for f, p in faults.items()], events)


def sets(*given: tuple[str, ...]) -> set[frozenset[str]]:
    return {frozenset(one) for one in given}


TANK = {
    "rupture": ["or", "T", "overpressure"],
    "overpressure": ["or", "K2", "runs_too_long"],
    "runs_too_long": ["and", "S", "timer_side"],
    "timer_side": ["or", "S1", "k1_side"],
    "k1_side": ["or", "K1", "R"],
}
TANK_2002 = {"T": 5e-6, "K2": 3e-5, "S": 1e-4, "S1": 3e-5, "K1": 5e-6, "R": 1e-4}
TANK_1981 = {**TANK_2002, "K1": 3e-5}
TANK_SETS = sets(("T",), ("K2",), ("S", "K1"), ("S", "R"), ("S", "S1"))

SEALS = {
    "leak": ["or", "common", "independent"],
    "common": ["and", "contaminated_tape", "common_event"],
    "independent": ["and", "metal_seal", "seals", "fused_plug"],
    "seals": ["and", "seal_1", "seal_2"],
}
SEALS_P = {
    "contaminated_tape": 1e-1, "common_event": 1e-5, "metal_seal": 1e-3, "fused_plug": 1e-3, "seal_1": 1e-3,
    "seal_2": 1e-3,
}  # fmt: skip

MOORING = {
    "mooring": ["or", "top_cable", "bottom_cable", "line_cable", "hook", "human", "load"],
    "bottom_cable": ["or", "north", "south", "east", "west"],
    "human": ["or", "ship", "land"],
}
MOORING_P = {
    "load": 1.73e-5, "top_cable": 4.20e-3, "line_cable": 9.31e-3, "hook": 8.64e-3, "ship": 8.95e-6, "land": 8.95e-6,
    "north": 9.93e-5, "south": 4.37e-5, "east": 5.46e-8, "west": 4.17e-3,
}  # fmt: skip


@pytest.mark.parametrize(
    ("gates", "p", "top", "relative"),
    [
        pytest.param(TANK, TANK_2002, 3.5013348120867e-5, 1e-7, id="pressure tank"),
        pytest.param(SEALS, SEALS_P, 1.000000999999e-6, 1e-12, id="container seal"),
        pytest.param(MOORING, MOORING_P, 0.026246389824230341, 1e-9, id="mooring"),
    ],
)
def test_the_top_event_has_its_published_probability(
    gates: dict[str, list[str]], p: dict[str, float], top: float, relative: float
) -> None:
    """The exact top-event probability is the published one."""
    assert Diagram(tree(gates, p), next(iter(gates))).probability(p) == pytest.approx(top, rel=relative)


def test_the_pressure_tank_has_its_five_cut_sets() -> None:
    """Two single failures and three pairs, as the handbook lists them."""
    assert set(minimal_cut_sets(tree(TANK, TANK_2002), "rupture")) == TANK_SETS


@pytest.mark.parametrize(("cut_set", "share"), [(("T",), 0.14), (("K2",), 0.86)])
def test_cut_sets_have_their_published_shares(cut_set: tuple[str, ...], share: float) -> None:
    """Shares of the cut-set sum: 14 % and 86 % for the two single failures."""
    found = minimal_cut_sets(tree(TANK, TANK_1981), "rupture")
    products = {one: math.prod(TANK_1981[f] for f in one) for one in found}
    assert products[frozenset(cut_set)] / sum(products.values()) == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("cut_set", [("S", "R"), ("S", "K1"), ("S", "S1")])
def test_pairs_have_less_than_a_thousandth(cut_set: tuple[str, ...]) -> None:
    """Each pair of the pressure tank has below 0.1 % of the cut-set sum."""
    found = minimal_cut_sets(tree(TANK, TANK_1981), "rupture")
    products = {one: math.prod(TANK_1981[f] for f in one) for one in found}
    assert products[frozenset(cut_set)] / sum(products.values()) < 0.001


def test_polybox_diagnoses_are_the_cut_sets_of_its_conflicts() -> None:
    """Every conflict must hold a faulty part: the minimal diagnoses are the minimal cut sets of that."""
    conflicts = {"c1": ["or", "A1", "M1", "M2"], "c2": ["or", "A1", "A2", "M1", "M3"]}
    book = tree({"all": ["and", "c1", "c2"], **conflicts}, dict.fromkeys(("A1", "A2", "M1", "M2", "M3"), 0.01))
    assert set(minimal_cut_sets(book, "all")) == sets(("A1",), ("M1",), ("A2", "M2"), ("M2", "M3"))


def _values(faulty: frozenset[str], free: dict[str, int]) -> dict[str, int]:
    """Values in the polybox when sound parts compute and faulty ones give what is asked of them."""
    a, b, c, d, e = 3, 2, 2, 3, 3
    x = free.get("X", a * c)
    y = free.get("Y", b * d)
    z = free.get("Z", c * e)
    return {"X": x, "Y": y, "Z": z, "F": x + y, "G": y + z}


def test_polybox_conflicts_follow_from_the_readings() -> None:
    """By brute force over the parts' behaviour: F = 10 and G = 12 leave exactly the four minimal diagnoses."""
    parts = {"M1": "X", "M2": "Y", "M3": "Z"}
    consistent = []
    for size in range(6):
        for some in combinations(("A1", "A2", "M1", "M2", "M3"), size):
            faulty = frozenset(some)
            points = [parts[m] for m in parts if m in faulty]
            if any(_fits(faulty, dict(zip(points, vs, strict=True))) for vs in _choices(len(points))):
                consistent.append(faulty)
    minimal = {one for one in consistent if not any(other < one for other in consistent)}
    assert minimal == sets(("A1",), ("M1",), ("A2", "M2"), ("M2", "M3"))


def _choices(n: int) -> list[tuple[int, ...]]:
    return [()] if n == 0 else [(v, *rest) for v in range(16) for rest in _choices(n - 1)]


def _fits(faulty: frozenset[str], free: dict[str, int]) -> bool:
    values = _values(faulty, free)
    return ("A1" in faulty or values["F"] == 10) and ("A2" in faulty or values["G"] == 12)
