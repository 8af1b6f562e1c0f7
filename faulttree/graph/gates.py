"""Gates over many fault sets at once, on packed bits (numpy)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from faulttree.book.model import Book, Event
from faulttree.errors import UnknownName

Packed = NDArray[np.uint8]


class Gates:
    """The faults and events of one book, to be asked what lies below and what holds."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._below: dict[str, frozenset[str]] = {}

    def below(self, name: str) -> frozenset[str]:
        """All faults that the fault or event ``name`` rests on. Raises UnknownName."""
        if name not in self._below:
            if name in self._book.faults:
                self._below[name] = frozenset([name])
            else:
                parts = [self.below(part) for part in self._event(name).of]
                self._below[name] = frozenset().union(*parts)
        return self._below[name]

    def truth(self, ids: Sequence[str], faults: Sequence[str], presence: Packed) -> dict[str, Packed]:
        """Whether each of ``ids`` holds on each of many fault sets.

        ``presence`` (n_faults, n_bytes) are packed bits, one row per fault of ``faults``, one bit per fault
        set; faults of the book that are not in ``faults`` count as absent. Returns packed bits (n_bytes,) per
        id; bits beyond the last fault set mean nothing. Raises UnknownName.
        """
        known: dict[str, Packed] = {fault: presence[i] for i, fault in enumerate(faults)}
        nowhere = np.zeros(presence.shape[1], dtype=np.uint8)
        for name in ids:
            self._work_out(name, known, nowhere)
        return {name: known[name] for name in ids}

    def _event(self, name: str) -> Event:
        if name not in self._book.events:
            raise UnknownName(f"the {self._book.family} book has no fault or event {name!r}")
        return self._book.events[name]

    def _work_out(self, name: str, known: dict[str, Packed], nowhere: Packed) -> Packed:
        if name in known:
            return known[name]
        if name in self._book.faults:
            known[name] = nowhere
            return nowhere
        event = self._event(name)
        parts = [self._work_out(part, known, nowhere) for part in event.of]
        known[name] = _gate(event, parts, nowhere)
        return known[name]


def _gate(event: Event, parts: list[Packed], nowhere: Packed) -> Packed:
    if event.gate == "all_of":
        return np.bitwise_and.reduce(parts) if parts else ~nowhere
    if event.gate == "at_least":
        return _at_least(event.count, parts, nowhere)
    any_of: Packed = np.bitwise_or.reduce(parts) if parts else nowhere
    return ~any_of if event.gate == "not" else any_of


def _at_least(count: int, parts: list[Packed], nowhere: Packed) -> Packed:
    """Bits where at least ``count`` of ``parts`` are set; ``reached[i]`` tells where i + 1 of them were seen."""
    reached = [nowhere] * count
    for part in parts:
        for i in range(count - 1, 0, -1):
            reached[i] = reached[i] | (reached[i - 1] & part)
        if count:
            reached[0] = reached[0] | part
    return reached[-1] if count else ~nowhere
