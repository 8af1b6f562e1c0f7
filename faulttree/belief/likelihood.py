"""How likely a check shows something: its matrix, and the urn by which repeats of it hang together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from faulttree.book.model import Check

Floats = NDArray[np.float64]


def matrix(check: Check) -> Floats:
    """Probability of each shown outcome (rows) given each true one (columns), shape (n_outcomes, n_outcomes).

    Columns sum to one. A sound gear shows a wrong outcome with ``false_alarm``, spread evenly. An outcome
    that is missed reads as a sound gear would, given that it does not read as what it is.
    """
    if check.matrix is not None:
        return np.array(check.matrix, dtype=np.float64)
    k = len(check.outcomes)
    sound = np.full(k, check.false_alarm / (k - 1))
    sound[-1] = 1.0 - check.false_alarm
    table = np.empty((k, k))
    table[:, -1] = sound
    for t, outcome in enumerate(check.outcomes[:-1]):
        table[:, t] = (1.0 - outcome.detects) * sound / (1.0 - sound[t])
        table[t, t] = outcome.detects
    return table


class Urn:
    """Readings of one check in one epoch: exchangeable, each later one mostly repeating the earlier.

    With n readings so far, n_o of them o, the next shows o with probability (a L[o] + n_o) / (a + n), where
    a = fresh / (1 - fresh): the urn of Eggenberger and Polya (1923). A soft answer is a reading summed over
    what it may have shown, so the state is a table of counts with their coefficients.
    """

    def __init__(self, fresh: float, n_outcomes: int) -> None:
        self.alpha = fresh / (1.0 - fresh)
        self.readings = 0
        self._counts: dict[tuple[int, ...], float] = {(0,) * n_outcomes: 1.0}

    def add(self, weights: Sequence[float]) -> None:
        """Take one more reading, given as weights over the outcomes."""
        grown: dict[tuple[int, ...], float] = {}
        for counts, coefficient in self._counts.items():
            for o, weight in enumerate(weights):
                if weight > 0:
                    key = (*counts[:o], counts[o] + 1, *counts[o + 1 :])
                    grown[key] = grown.get(key, 0.0) + coefficient * weight
        self._counts = grown
        self.readings += 1

    def probability(self, shown: Floats) -> Floats:
        """Probability of all readings so far; ``shown`` is L, shape (n, n_outcomes); the result (n,)."""
        total: Floats = np.zeros(len(shown))
        for counts, coefficient in self._counts.items():
            term, taken = np.full(len(shown), coefficient), 0
            for o, n in enumerate(counts):
                for i in range(n):
                    # Divided as it goes: the product of all denominators is beyond any float after 170 readings.
                    term *= (self.alpha * shown[:, o] + i) / (self.alpha + taken)
                    taken += 1
            total += term
        return total

    def most_next(self, most: Sequence[float], weights: Sequence[float]) -> float:
        """An upper bound on the factor of one more reading, where L[o] is at most ``most[o]`` under any set."""
        so_far = [max(counts[o] for counts in self._counts) for o in range(len(most))]
        chances = [(self.alpha * most[o] + so_far[o]) / (self.alpha + self.readings) for o in range(len(most))]
        return sum(weight * min(chance, 1.0) for weight, chance in zip(weights, chances, strict=True))

    def copy(self) -> Urn:
        """A copy that can be added to without touching this one."""
        twin = Urn.__new__(Urn)
        twin.alpha, twin.readings, twin._counts = self.alpha, self.readings, dict(self._counts)
        return twin
