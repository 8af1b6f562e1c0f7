"""Chances of a drill: one stream of numbers for each thing that is drawn, by seed and name.

A stream is ``random.Random(number).random()`` and nothing else: its sequence is promised for every machine and version
of Python, that of ``choice`` or ``shuffle`` is not. The number is SHA-256 of seed and name, so what a check shows does
not depend on what was done before it: whoever works the same drill another way meets the same gear.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Sequence
from statistics import NormalDist

NORMAL = NormalDist()


class Stream:
    """Numbers for one thing that is drawn."""

    def __init__(self, seed: int, *name: object) -> None:
        told = " ".join(str(part) for part in (seed, *name))
        self._draws = random.Random(int.from_bytes(hashlib.sha256(told.encode()).digest()[:8], "big"))

    def share(self) -> float:
        """A number in 0 … 1, 1 left out."""
        return self._draws.random()

    def happens(self, chance: float) -> bool:
        """Whether something with this chance happens."""
        return self.share() < chance

    def below(self, count: int) -> int:
        """A whole number from 0 to ``count`` - 1."""
        return min(int(self.share() * count), count - 1)

    def place(self, weights: Sequence[float]) -> int:
        """A place drawn by weights that need not sum to one. Raises ValueError where all are 0."""
        total = sum(weights)
        if not total > 0:
            raise ValueError("nothing to draw from")
        mark, last = self.share() * total, 0
        for i, weight in enumerate(weights):
            if weight > 0:
                last = i
                if mark < weight:
                    return i
                mark -= weight
        return last

    def normal(self) -> float:
        """A number of the normal distribution with mean 0 and standard deviation 1."""
        return NORMAL.inv_cdf(min(max(self.share(), 1e-12), 1.0 - 1e-12))

    def some(self, count: int, among: Sequence[str]) -> tuple[str, ...]:
        """``count`` of these (all, where there are fewer), in the order drawn."""
        left, found = list(among), list[str]()
        while left and len(found) < count:
            found.append(left.pop(self.below(len(left))))
        return tuple(found)
