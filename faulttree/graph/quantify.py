"""Exact probability of an event and the importance of the faults below it, through a binary decision diagram."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from dd import autoref

from faulttree.book.model import Book
from faulttree.errors import UnknownName
from faulttree.graph.cutsets import minimal_cut_sets
from faulttree.graph.gates import Gates


@dataclass(frozen=True, slots=True)
class Importance:
    """Importance of one fault for an event.

    ``birnbaum``: P(event | fault) - P(event | no fault) (Birnbaum, 1969). ``fussell_vesely``: the share of the event's
    probability in which some minimal cut set with the fault holds (Vesely and others, NUREG-0492; IEC 61025).
    """

    birnbaum: float
    fussell_vesely: float


class Diagram:
    """The decision diagram of one event. Faults are independent."""

    def __init__(self, book: Book, name: str) -> None:
        self.book, self.name = book, name
        self.faults = tuple(f for f in book.faults if f in Gates(book).below(name))
        self._bdd = autoref.BDD()
        self._bdd.declare(*self.faults)
        self._built: dict[str, Any] = {}
        self._top = self._build(name)

    def probability(self, p: Mapping[str, float]) -> float:
        """Exact probability of the event, ``p`` giving each fault's. Raises UnknownName for a fault without one."""
        missing = [fault for fault in self.faults if fault not in p]
        if missing:
            raise UnknownName(f"no probability is given for {', '.join(missing)}")
        return self._probability(self._top, p, {})

    def importance(self, p: Mapping[str, float]) -> dict[str, Importance]:
        """Birnbaum and Fussell-Vesely importance of every fault below the event."""
        whole = self.probability(p)
        cut_sets = minimal_cut_sets(self.book, self.name)
        result = {}
        for fault in self.faults:
            birnbaum = self.probability({**p, fault: 1.0}) - self.probability({**p, fault: 0.0})
            union = self._bdd.false
            for one in cut_sets:
                if fault in one:
                    union = union | self._all_of([self._bdd.var(f) for f in sorted(one)])
            share = self._probability(union, p, {}) / whole if whole > 0 else 0.0
            result[fault] = Importance(birnbaum, share)
        return result

    def _all_of(self, parts: list[Any]) -> Any:
        result = self._bdd.true
        for part in parts:
            result = result & part
        return result

    def _build(self, name: str) -> Any:
        if name not in self._built:
            if name in self.book.faults:
                self._built[name] = self._bdd.var(name)
            else:
                event = self.book.events[name]
                self._built[name] = self._gate(event.gate, event.count, [self._build(part) for part in event.of])
        return self._built[name]

    def _gate(self, gate: str, count: int, parts: list[Any]) -> Any:
        if gate == "all_of":
            return self._all_of(parts)
        chosen = [self._all_of(list(some)) for some in combinations(parts, count)] if gate == "at_least" else parts
        result = self._bdd.false
        for part in chosen:
            result = result | part
        return ~result if gate == "not" else result

    def _probability(self, node: Any, p: Mapping[str, float], known: dict[int, float]) -> float:
        if node == self._bdd.true:
            return 1.0
        if node == self._bdd.false:
            return 0.0
        key = int(node)
        if key not in known:
            if node.negated:
                known[key] = 1.0 - self._probability(~node, p, known)
            else:
                chance = p[node.var]
                low, high = (self._probability(branch, p, known) for branch in (node.low, node.high))
                known[key] = chance * high + (1.0 - chance) * low
        return known[key]
