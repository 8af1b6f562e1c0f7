"""What steps of a plan are worth, kept in one array for each standing, so that many are weighed at one go."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats

Where = tuple[Standing, int]
"""What stands, and the noted leg."""

CANNOT_BE, TOO_DEAR = 1e30, 1e12
"""What a step is worth that cannot be done from what stands, and from what on no step is worth it; not infinite, so
that rows without weight count nothing."""

BEGUN_WITH = 32


class Table:
    """Values by step and row in one standing; ``valid`` those that hold."""

    def __init__(self, rows: int) -> None:
        self.valid: set[int] = set()
        self._slots: dict[int, int] = {}
        self._values: Floats = np.zeros((BEGUN_WITH, rows))

    def put(self, n: int, value: Floats) -> None:
        """The value of a step."""
        slot = self._slots.setdefault(n, len(self._slots))
        if slot == len(self._values):
            self._values = np.concatenate([self._values, np.zeros_like(self._values)])
        self._values[slot] = value
        self.valid.add(n)

    def of(self, n: int) -> Floats:
        """The value of a step that holds."""
        value: Floats = self._values[self._slots[n]]
        return value

    def weighed(self, steps: Sequence[int], weights: Floats) -> Floats:
        """What so many weights of rows cost from each of several steps that hold."""
        every: Floats = self._values[: len(self._slots)] @ weights
        return every[[self._slots[n] for n in steps]]


class Values:
    """The tables of one plan."""

    def __init__(self, rows: int) -> None:
        self._rows = rows
        self._tables: dict[Where, Table] = {}

    def at(self, where: Where) -> Table:
        """The table of a standing."""
        found = self._tables.get(where)
        if found is None:
            found = self._tables[where] = Table(self._rows)
        return found

    def change(self, n: int) -> None:
        """The values of a step hold no longer."""
        for table in self._tables.values():
            table.valid.discard(n)

    def forget(self) -> None:
        """None of the values holds any longer."""
        self._tables = {}
