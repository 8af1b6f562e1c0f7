"""Gates over many fault sets at once, on packed bits (numpy).

A column of packed bits holds one yes or no per fault set, eight to a byte, in the layout of ``numpy.packbits``.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from faulttree.book.model import Book, Event
from faulttree.errors import UnknownName

Packed = NDArray[np.uint8]

_NOWHERE: Packed = np.zeros(1, dtype=np.uint8)
"""Holds on none of eight fault sets."""


class Gates:
    """The faults and events of one book, to be asked what lies below and what holds."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._below: dict[str, frozenset[str]] = {}
        self._components: dict[str, frozenset[str]] = {}
        self._place = {name: place for place, name in enumerate(book.events)}
        self._in_order: dict[tuple[str, ...], list[str]] = {}

    def below(self, name: str) -> frozenset[str]:
        """All faults that the fault or event ``name`` rests on. Raises UnknownName."""
        if name in self._book.faults:
            return frozenset([name])
        if name not in self._below:
            for part in self._events_at([name], self._below):
                of = self._book.events[part].of
                self._below[part] = frozenset().union(*(self._below_part(each) for each in of))
        return self._below_part(name)

    def components_below(self, name: str) -> frozenset[str]:
        """The components of those faults. Raises UnknownName."""
        if name not in self._components:
            self._components[name] = frozenset(self._book.faults[fault].component for fault in self.below(name))
        return self._components[name]

    def truth(self, ids: Sequence[str], faults: Sequence[str], presence: Packed) -> dict[str, Packed]:
        """Whether each of ``ids`` holds on each of many fault sets.

        ``presence`` (n_faults, n_bytes) are packed bits, one row per fault of ``faults``, one bit per fault
        set; faults of the book that are not in ``faults`` count as absent. Returns packed bits (n_bytes,) per
        id; bits beyond the last fault set mean nothing. Only what ``ids`` rest on is worked out, each event
        once. Raises UnknownName.
        """
        nowhere = np.zeros(presence.shape[1], dtype=np.uint8)
        known: dict[str, Packed] = dict.fromkeys(self._book.faults, nowhere)
        known.update((fault, presence[row]) for row, fault in enumerate(faults))
        key = tuple(ids)
        if key not in self._in_order:
            self._in_order[key] = self.events_at(key)
        # With nothing below it that may be there an event is the same everywhere, and mostly it does not hold.
        worth = self._worth(faults)
        for name in self._in_order[key]:
            event = self._book.events[name]
            known[name] = _gate(event, [known[part] for part in event.of], nowhere) if name in worth else nowhere
        return {name: known[name] for name in ids}

    def _worth(self, faults: Sequence[str]) -> Container[str]:
        """The events that may hold on some set of these faults: mostly a small part, all of them for all faults."""
        if len(faults) == len(self._book.faults):
            return self._book.events
        return self._held_by_nothing.union(*(self._above.get(fault, ()) for fault in faults))

    @cached_property
    def _above(self) -> dict[str, list[str]]:
        """The events that rest on each fault."""
        found: dict[str, list[str]] = {}
        for name in self._book.events:
            for fault in self.below(name):
                found.setdefault(fault, []).append(name)
        return found

    @cached_property
    def _held_by_nothing(self) -> frozenset[str]:
        """The events that hold with no fault there at all."""
        known = dict.fromkeys(self._book.faults, _NOWHERE)
        for name, event in self._book.events.items():
            known[name] = _gate(event, [known[part] for part in event.of], _NOWHERE)
        return frozenset(name for name in self._book.events if known[name].any())

    def events_at(self, names: Iterable[str]) -> list[str]:
        """The events among ``names`` and all events below them, each after what it looks at. Raises UnknownName."""
        return self._events_at(names, ())

    def _events_at(self, names: Iterable[str], known: Container[str]) -> list[str]:
        """The same but for events that are ``known`` and what lies below these alone."""
        found: set[str] = set()
        waiting = list(names)
        while waiting:
            name = waiting.pop()
            if name in found or name in known or name in self._book.faults:
                continue
            if name not in self._book.events:
                raise UnknownName(f"the {self._book.family} book has no fault or event {name!r}")
            found.add(name)
            waiting.extend(self._book.events[name].of)
        return sorted(found, key=self._place.__getitem__)

    def _below_part(self, name: str) -> frozenset[str]:
        return frozenset([name]) if name in self._book.faults else self._below[name]


def _gate(event: Event, parts: list[Packed], nowhere: Packed) -> Packed:
    if event.gate == "all_of":
        return np.bitwise_and.reduce(parts) if parts else ~nowhere
    # What holds nowhere, as most of a book does for few faults, adds nothing to the other gates.
    parts = [part for part in parts if part is not nowhere]
    if event.gate == "at_least":
        return _at_least(event.count, parts, nowhere)
    any_of = parts[0] if parts else nowhere
    for part in parts[1:]:
        any_of = any_of | part
    return ~any_of if event.gate == "not" else any_of


def _at_least(count: int, parts: list[Packed], nowhere: Packed) -> Packed:
    """Bits where at least ``count`` of ``parts`` are set; ``reached[i]`` tells where i + 1 of them were seen.

    For the small counts of a gear (two legs of three) this takes half the time of adding up binary counters.
    """
    reached = [nowhere] * count
    for part in parts:
        for i in range(count - 1, 0, -1):
            reached[i] = reached[i] | (reached[i - 1] & part)
        if count:
            reached[0] = reached[0] | part
    return reached[-1] if count else ~nowhere
