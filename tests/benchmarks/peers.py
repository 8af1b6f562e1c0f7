"""The general-purpose libraries for exact inference that belief is held against, given one case as a network.

Both get the network of :mod:`tests.published.oracle_network`, sleeping modes and all, built beforehand, and are asked
for the states of the faults that the answers reach, and of nothing else. Of the ways to build the network and to hand
an answer over they get the quickest that was found. A library that is not installed is none of these.
"""

from __future__ import annotations

import importlib.util
import itertools
import tempfile
import warnings
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from faulttree.belief import Evidence
from faulttree.book.model import Book, Check

if TYPE_CHECKING:
    from tests.published.oracle_network import Network

FEWEST_ENTRIES, MOST_ENTRIES = 2e4, 1e8
"""Entries of all tables: down to the first no smaller network is looked for; beyond the second (800 MB) none is run."""


def missing(library: str) -> bool:
    """Whether a library is not installed."""
    return importlib.util.find_spec(library) is None


def smallest_network(book: Book, evidence: Evidence, asked: Sequence[Check]) -> tuple[Network, list[str], list[str]]:
    """The network of a case with the smallest tables; its nodes of faults, and of the readings that are asked of it.

    Raises TooLargeError.
    """
    from tests.published.oracle_case import ORDERS, Case
    from tests.published.oracle_network import Network, TooLargeError

    case, best = Case(book, evidence), None
    for order, whole in itertools.product(ORDERS, (True, False)):
        network = Network(case, order, whole)
        network.tell(case.seen)
        readings = [network.fresh_reading(check, len(case.actions), "next") for check in asked]
        faults = [network.state(fault, 0) for fault in book.faults if ("was", fault) in network.nodes]
        _, size = network.inference([*faults, *readings])
        if best is None or size < best[0]:
            best = size, network, faults, readings
        if size <= FEWEST_ENTRIES:
            break
    assert best is not None
    if best[0] > MOST_ENTRIES:
        raise TooLargeError(f"{best[0]:.0e} table entries")
    return best[1], best[2], best[3]


class PyAgrum:
    """pyAgrum's lazy propagation on one case."""

    def __init__(self, book: Book, evidence: Evidence, asked: Sequence[Check] = ()) -> None:
        self.network, self.faults, self.readings = smallest_network(book, evidence, asked)
        self.outcomes = [len(check.outcomes) for check in asked]
        self.inference, _ = self.network.inference([*self.faults, *self.readings])

    def ask(self) -> list[list[float]]:
        """Posteriors of all faults with what it has been told."""
        self.inference.makeInference()
        return [self.inference.posterior(fault).tolist() for fault in self.faults]

    def before(self, as_a_change: bool) -> None:
        """All but the last answer told, and all faults asked for once; the last a node that says nothing, or none."""
        self.inference.setEvidence(dict.fromkeys(self.network.said[:-1], 1))
        if as_a_change:
            self.inference.addEvidence(self.network.said[-1], [1.0, 1.0])
        self.ask()

    def one_more(self, as_a_change: bool) -> list[list[float]]:
        """The last answer, and all faults after it."""
        last = self.network.said[-1]
        (self.inference.chgEvidence if as_a_change else self.inference.addEvidence)(last, [0.0, 1.0])
        return self.ask()

    def told_all(self) -> None:
        """All answers told, and all faults asked for once."""
        self.inference.setEvidence(dict.fromkeys(self.network.said, 1))
        self.ask()

    def each_outcome(self) -> None:
        """Posteriors of all faults after each outcome of each reading asked for."""
        for reading, outcomes in zip(self.readings, self.outcomes, strict=True):
            self.inference.addEvidence(reading, 0)
            for outcome in range(outcomes):
                if outcome:
                    self.inference.chgEvidence(reading, outcome)
                self.ask()
            self.inference.eraseEvidence(reading)


def pgmpy_query(book: Book, evidence: Evidence) -> tuple[Callable[[], object], int]:
    """The posterior of one fault by pgmpy's variable elimination, and how many such queries all faults take.

    Each fault is a query of its own; asked for together it would work out their joint distribution.
    """
    import pyagrum

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of what its next versions will do without
        from pgmpy.inference import VariableElimination
        from pgmpy.readwrite import BIFReader

        network, faults, _ = smallest_network(book, evidence, ())
        with tempfile.NamedTemporaryFile(suffix=".bif") as file:
            pyagrum.saveBN(network.net, file.name)
            model: Any = BIFReader(file.name).get_model()
        said = {node: model.get_cpds(node).state_names[node][1] for node in network.said}
        elimination = VariableElimination(model)

    def one_fault() -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return elimination.query([faults[0]], evidence=said, show_progress=False)

    return one_fault, len(faults)
