"""The faults that the answers reach, numbered, and all their subsets up to the size limit.

A :class:`FaultSpace` works out events for all subsets at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from faulttree.belief.priors import ModePriors
from faulttree.book.model import Book
from faulttree.graph.gates import Gates

Ints = NDArray[np.int64]
Outcomes = NDArray[np.int8]
"""Places of outcomes in their check; there are hundreds of thousands of fault sets to know one for."""
Bools = NDArray[np.bool_]

MOST_SUBSETS = 3_000_000
"""Subsets that are numbered at most: triples of 262 faults, pairs of 2,400. Where more faults are reached, smaller sets
have to do, and what is left out by that is told as ever."""

MOST_HELD = 2_000_000
"""Whether so many fault sets hold a fault is worked out at one go: a few faults' worth where many are numbered."""


def grow(items: Ints, next_start: Ints, n_items: int, size: int) -> list[Ints]:
    """All increasing selections of 0 … ``size`` items; item j may follow item i if j >= next_start[i].

    Returns one array per size s, shape (n_s, s), rows increasing.
    """
    levels: list[Ints] = [np.empty((1, 0), dtype=np.int64)]
    if size >= 1:
        levels.append(items.reshape(-1, 1))
    for _ in range(2, size + 1):
        shorter = levels[-1]
        starts = next_start[shorter[:, -1]]
        counts = n_items - starts
        rows = np.repeat(np.arange(len(shorter)), counts)
        offsets = np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts)
        # Column by column, so that each is of one piece in memory; all that follows goes by columns too.
        columns = [shorter[:, c].take(rows) for c in range(shorter.shape[1])]
        levels.append(np.array([*columns, starts.take(rows) + offsets]).T)
    return levels


def _largest_size(faults: int, wanted: int) -> int:
    """The largest size of a set, ``wanted`` at most, at which so many faults have no more subsets than can be held."""
    sizes = range(min(wanted, faults), 0, -1)
    return next((size for size in sizes if sum(math.comb(faults, s) for s in range(size + 1)) <= MOST_SUBSETS), 1)


class FaultSpace:
    """The reached faults, their modes with prior odds, and the truth of events on all small fault sets.

    Attributes: ``faults`` (ids, book order); ``mode_fault`` (n_modes,) index of each mode's fault;
    ``sleeps`` (n_modes,) whether the mode comes and goes; ``shows`` (n_modes,); ``log_odds`` (n_modes,)
    natural logs; ``limit`` the largest size of a set; ``n_subsets`` the number of fault sets numbered.
    """

    def __init__(
        self, book: Book, gates: Gates, faults: Sequence[str], priors: dict[str, ModePriors], size_limit: int | None
    ) -> None:
        self.book = book
        self.faults = tuple(faults)
        self.place = {fault: i for i, fault in enumerate(self.faults)}
        n = len(self.faults)
        self.limit = n if size_limit is None else _largest_size(n, size_limit)
        self._gates = gates
        self._number_modes(priors)
        self._binomials = np.array(
            [[math.comb(c, i) for c in range(n + 1)] for i in range(self.limit + 1)], dtype=np.int64
        )
        self._mode_binomials = np.ascontiguousarray(self._binomials[:, self.mode_fault])
        self._offsets = np.cumsum([0] + [math.comb(n, s) for s in range(self.limit)])
        self.n_subsets = sum(math.comb(n, s) for s in range(self.limit + 1))
        self._presence: NDArray[np.uint8] | None = None
        self._truth: dict[str, Bools] = {}
        self._packed: dict[str, NDArray[np.uint8]] | None = None

    def _number_modes(self, priors: dict[str, ModePriors]) -> None:
        fault, sleeps, shows, odds = [], [], [], []
        for i, name in enumerate(self.faults):
            for is_sleeping, value in zip((False, True), priors[name].odds, strict=True):
                if value > 0:
                    fault.append(i)
                    sleeps.append(is_sleeping)
                    shows.append(self.book.faults[name].shows if is_sleeping else 1.0)
                    odds.append(value)
        self.mode_fault = np.array(fault, dtype=np.int64)
        self.sleeps = np.array(sleeps, dtype=np.bool_)
        self.shows = np.array(shows, dtype=np.float64)
        self.log_odds = np.log(np.array(odds, dtype=np.float64))

    def rank(self, chosen: Ints) -> Ints:
        """Numbers of fault sets of one size: ``chosen`` (n, s) increasing; combinatorial number system."""
        return self._numbered(chosen, self._binomials)

    def rank_of_modes(self, chosen: Ints) -> Ints:
        """Numbers of the fault sets of mode sets of one size: ``chosen`` (n, s) modes, increasing."""
        return self._numbered(chosen, self._mode_binomials)

    def _numbered(self, chosen: Ints, binomials: Ints) -> Ints:
        number = np.full(len(chosen), self._offsets[chosen.shape[1]], dtype=np.int64)
        for position in range(chosen.shape[1]):
            number += binomials[position + 1].take(chosen[:, position])
        return number

    def presence(self) -> NDArray[np.uint8]:
        """Packed bits, shape (n_faults, n_bytes): which numbered fault sets hold each fault."""
        if self._presence is None:
            many, at_once = len(self.faults), max(MOST_HELD // self.n_subsets, 1)
            blocks = [range(first, min(first + at_once, many)) for first in range(0, many, at_once)]
            packed = [np.packbits(self._holding(places), axis=1) for places in blocks]
            self._presence = np.concatenate([np.empty((0, self.n_subsets + 7 >> 3), dtype=np.uint8), *packed])
        return self._presence

    def _holding(self, places: range) -> Bools:
        """Which numbered fault sets hold the faults in these places, shape (len(places), n_subsets).

        Sets of one size lie by the largest fault that they hold, those with the same one in the order of what else they
        hold. So a row is put together of pieces of the row of smaller sets, and no table of all rows need be held.
        """
        levels = [np.zeros((len(places), 1), dtype=np.bool_)]
        for size in range(self.limit):
            many, begins = self._binomials[size].tolist(), self._binomials[size + 1].tolist()
            level = np.concatenate([levels[-1][:, :n] for n in many[:-1]], axis=1)
            for row, place in zip(level, places, strict=True):
                row[begins[place] : begins[place + 1]] = True
            levels.append(level)
        return np.concatenate(levels, axis=1)

    def modes_of(self, faults: Iterable[str]) -> Bools:
        """Which modes are of one of these faults, shape (n_modes + 1,); the last, for "no mode", never is."""
        mine = np.zeros(len(self.mode_fault) + 1, dtype=np.bool_)
        for fault in faults:
            if fault in self.place:
                mine[:-1] |= self.mode_fault == self.place[fault]
        return mine

    def truth(self, name: str) -> Bools:
        """Whether the fault or event ``name`` holds on each numbered fault set, shape (n_subsets,)."""
        if name not in self._truth:
            self._truth[name] = np.unpackbits(self._packed_truth(name), count=self.n_subsets).view(np.bool_)
        return self._truth[name]

    def truth_at(self, groups: Sequence[Sequence[str]], numbers: Ints) -> Bools:
        """For each group of names whether any holds on the fault sets with these numbers, (n_groups, len(numbers))."""
        byte, mask = numbers >> 3, (128 >> (numbers & 7)).astype(np.uint8)
        holds = np.zeros((len(groups), len(numbers)), dtype=np.uint8)
        for row, names in zip(holds, groups, strict=True):
            for name in names:
                row |= self._packed_truth(name).take(byte)
        return (holds & mask).astype(np.bool_)

    def _packed_truth(self, name: str) -> NDArray[np.uint8]:
        if self._packed is None:
            # All at once: the events share most of what lies below them.
            every = [*self.book.events, *self.book.faults]
            self._packed = self._gates.truth(every, self.faults, self.presence())
        return self._packed[name]

    def below(self, name: str) -> frozenset[str]:
        """All faults of the book below a fault or event."""
        return self._gates.below(name)

    def truth_of_any(self, names: Sequence[str]) -> Bools:
        """Whether any of ``names`` holds, shape (n_subsets,)."""
        if len(names) == 1:
            return self.truth(names[0])
        result = np.zeros(self.n_subsets, dtype=np.bool_)
        for name in names:
            result |= self.truth(name)
        return result

    def all_sets(self, leading: int | None = None) -> list[Ints]:
        """Every set of modes of different faults up to the size limit: one array per size s, (n_s, s), rows increasing.

        With ``leading`` only those that hold one of so many faults at the head of ``faults``: a set whose modes rise
        holds one of them exactly if its first mode is of one of them.
        """
        m = len(self.mode_fault)
        following = np.searchsorted(self.mode_fault, self.mode_fault, side="right")
        if leading is None:
            return grow(np.arange(m), following, m, self.limit)
        first = np.arange(int(np.searchsorted(self.mode_fault, leading)))
        levels = grow(first, following, m, self.limit)
        return [levels[0][:0], *levels[1:]]
