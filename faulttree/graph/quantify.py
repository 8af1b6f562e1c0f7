"""Exact probability of an event and the importance of the faults below it, through a binary decision diagram (dd)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dd import autoref

from faulttree.book.model import Book
from faulttree.errors import UnknownName
from faulttree.graph.cutsets import CutSet, minimal_cut_sets
from faulttree.graph.gates import Gates


@dataclass(frozen=True, slots=True)
class Importance:
    """Importance of one fault for an event.

    ``birnbaum``: P(event | fault) − P(event | no fault) (Birnbaum, 1969; IEC 61025), negative where the fault keeps
    the event away. ``fussell_vesely``: the probability, given the event, that some minimal cut set with the fault is
    there as a whole (Fussell, 1975; Vesely and others, NUREG-0492; IEC 61025); 0 for an event that cannot be.
    """

    birnbaum: float
    fussell_vesely: float


def shares(cut_sets: Iterable[CutSet], p: Mapping[str, float]) -> dict[CutSet, float]:
    """Each cut set's part of the sum of the probabilities of all (importance of a cut set, NUREG-0492).

    All zero where the sum is. Raises UnknownName for a fault without a probability, ValueError for one outside 0 … 1.
    """
    sets = list(cut_sets)
    _check(p, sorted(frozenset().union(*sets)))
    products = {one: math.prod(p[fault] for fault in one) for one in sets}
    total = math.fsum(products.values())
    return {one: product / total if total > 0.0 else 0.0 for one, product in products.items()}


class Diagram:
    """The decision diagram of one fault or event. Faults are independent of each other. Raises UnknownName."""

    def __init__(self, book: Book, name: str) -> None:
        self.book, self.name = book, name
        gates = Gates(book)
        self.faults = tuple(sorted(gates.below(name), key=list(book.faults).index))
        self._bdd = autoref.BDD()
        self._bdd.declare(*self.faults)
        built: dict[str, Any] = {fault: self._bdd.var(fault) for fault in self.faults}
        for each in gates.events_at([name]):
            event = book.events[each]
            built[each] = self._gate(event.gate, event.count, [built[part] for part in event.of])
        self._top = built[name]

    def probability(self, p: Mapping[str, float]) -> float:
        """Exact probability of the event, ``p`` giving each fault's.

        Raises UnknownName for a fault without a probability, ValueError for one outside 0 … 1.
        """
        _check(p, self.faults)
        return self._probability(self._top, p)

    def importance(self, p: Mapping[str, float]) -> dict[str, Importance]:
        """Birnbaum and Fussell-Vesely importance of every fault below the event. Raises as ``probability`` does."""
        whole = self.probability(p)
        cut_sets = minimal_cut_sets(self.book, self.name)
        result = {}
        for fault in self.faults:
            birnbaum = self.probability({**p, fault: 1.0}) - self.probability({**p, fault: 0.0})
            with_it = self._any_whole(one for one in cut_sets if fault in one)
            result[fault] = Importance(birnbaum, self._probability(with_it, p) / whole if whole > 0.0 else 0.0)
        return result

    def _any_whole(self, cut_sets: Iterable[CutSet]) -> Any:
        """Where the event holds and one of these is there as a whole; the first matters only where ``not`` occurs."""
        union = self._bdd.false
        for one in cut_sets:
            union |= self._gate("all_of", 0, [self._bdd.var(fault) for fault in sorted(one)])
        return union & self._top

    def _gate(self, gate: str, count: int, parts: Sequence[Any]) -> Any:
        """``any_of`` and ``all_of`` are "at least one" and "at least all"; ``reached[i]``: i of those seen so far."""
        count = {"at_least": count, "all_of": len(parts)}.get(gate, 1)
        reached = [self._bdd.true] + [self._bdd.false] * count
        for part in parts:
            for i in range(count, 0, -1):
                reached[i] |= reached[i - 1] & part
        return ~reached[count] if gate == "not" else reached[count]

    def _probability(self, top: Any, p: Mapping[str, float]) -> float:
        """From the leaves up. A node and its opposite are kept apart: 1 − x would lose the digits of a rare event."""
        known: dict[int, float] = {int(self._bdd.true): 1.0, int(self._bdd.false): 0.0}
        waiting = [top]
        while waiting:
            node = waiting[-1]
            if int(node) in known:
                waiting.pop()
                continue
            low, high = (~node.low, ~node.high) if node.negated else (node.low, node.high)
            missing = [branch for branch in (low, high) if int(branch) not in known]
            if missing:
                waiting += missing
            else:
                known[int(node)] = p[node.var] * known[int(high)] + (1.0 - p[node.var]) * known[int(low)]
        return known[int(top)]


def _check(p: Mapping[str, float], faults: Sequence[str]) -> None:
    missing = [fault for fault in faults if fault not in p]
    if missing:
        raise UnknownName(f"no probability is given for {', '.join(missing)}")
    wrong = [fault for fault in faults if not 0.0 <= p[fault] <= 1.0]
    if wrong:
        raise ValueError(f"a probability lies between 0 and 1; {wrong[0]} has {p[wrong[0]]}")
