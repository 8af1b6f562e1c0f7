"""Three multipliers and two adders: the circuit on which finding several faults at once is usually explained.

Source: J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987); B. C. Williams,
Conflict-directed diagnosis, lecture of 10 March 2004 (MIT 16.412J). Read in the lecture: the inputs 3, 2, 2, 3, 3, the
readings F = 10 and G = 12 where 12 is due at both, the conflict of A1, A2, M1 and M3, the diagnosis of A2 with M2. From
memory: the other conflict and the list of all four minimal diagnoses. A page on the web that gives A1, A2, M2, M3 as
the second conflict, and M2 alone as a diagnosis, does not hold for these readings, as trying all values shows.

A conflict is a set of parts that cannot all be sound. A diagnosis holds a part of every conflict, so the minimal
diagnoses are the minimal cut sets of "each conflict has a faulty part in it".
"""

from __future__ import annotations

from itertools import combinations, product

from faulttree.book.model import Book
from faulttree.graph.cutsets import minimal_cut_sets
from tests.support.books import fault, gate, make_book

PARTS = ("M1", "M2", "M3", "A1", "A2")
INPUTS = {"A": 3, "B": 2, "C": 2, "D": 3, "E": 3}
READ = {"F": 10, "G": 12}
CONFLICTS = [{"A1", "M1", "M2"}, {"A1", "A2", "M1", "M3"}]
DIAGNOSES = [{"A1"}, {"M1"}, {"A2", "M2"}, {"M2", "M3"}]
VALUES = range(16)
"""What a faulty multiplier may give out; more than enough for these readings."""


def explained(faulty: frozenset[str]) -> bool:
    """Whether the readings can be, with these parts giving out anything and the others computing."""
    sound = {"M1": INPUTS["A"] * INPUTS["C"], "M2": INPUTS["B"] * INPUTS["D"], "M3": INPUTS["C"] * INPUTS["E"]}
    may_be = [VALUES if name in faulty else (value,) for name, value in sound.items()]
    return any(
        ("A1" in faulty or x + y == READ["F"]) and ("A2" in faulty or y + z == READ["G"])
        for x, y, z in product(*may_be)
    )


def subsets() -> list[frozenset[str]]:
    return [frozenset(some) for size in range(len(PARTS) + 1) for some in combinations(PARTS, size)]


def book_of(conflicts: list[set[str]]) -> Book:
    events = [gate(f"conflict-{n}", "any_of", *sorted(one)) for n, one in enumerate(conflicts)]
    all_hit = gate("diagnosis", "all_of", *(event.id for event in events))
    return make_book([fault(name) for name in PARTS], [*events, all_hit])


def test_the_published_conflicts_give_the_published_diagnoses() -> None:
    """The minimal cut sets of the two conflicts are the four minimal diagnoses."""
    found = minimal_cut_sets(book_of(CONFLICTS), "diagnosis")
    assert sorted(map(sorted, found)) == sorted(map(sorted, DIAGNOSES))


def test_a_search_through_all_values_gives_the_published_conflicts() -> None:
    """The smallest sets of parts of which one must be faulty, whatever the others do."""
    everything = frozenset(PARTS)
    conflicts = [one for one in subsets() if not explained(everything - one)]
    smallest = [one for one in conflicts if not any(other < one for other in conflicts)]
    assert sorted(map(sorted, smallest)) == sorted(map(sorted, CONFLICTS))


def test_every_explanation_holds_a_diagnosis_and_every_diagnosis_explains() -> None:
    """Cut sets found by the graph, and the search through all values, agree on each set of parts."""
    diagnoses = minimal_cut_sets(book_of(CONFLICTS), "diagnosis")
    for faulty in subsets():
        assert explained(faulty) == any(one <= faulty for one in diagnoses), sorted(faulty)
