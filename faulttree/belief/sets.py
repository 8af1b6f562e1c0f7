"""Sets of fault modes, and what a check truly is for every subset of such a set.

A :class:`FaultSpace` numbers the faults that the answers reach and all their subsets up to the size limit;
it works out events for all subsets at once. A :class:`ModeSets` is a list of sets of modes over a space;
it turns a true outcome per subset into the likelihood of what a check shows, sleeping modes included.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from faulttree.belief.likelihood import Floats
from faulttree.belief.priors import ModePriors
from faulttree.book.model import Book
from faulttree.graph.gates import Gates

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

MOST_SUBSETS = 3_000_000
"""Subsets that are numbered at most: triples of 262 faults, pairs of 2,400. Where more faults are reached, smaller sets
have to do, and what is left out by that is told as ever."""

FEW_SETS = 4096
"""Up to so many sets all that may be awake is worked out in one go."""

RUN = 4
"""Sets that lie beside each other with the same mode, in the mean, from which they are added up as runs."""


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
            n = len(self.faults)
            bits = np.zeros((n, self.n_subsets), dtype=np.bool_)
            following = np.arange(1, n + 1)
            for chosen in grow(np.arange(n), following, n, self.limit):
                number = self.rank(chosen)
                for position in range(chosen.shape[1]):
                    bits[chosen[:, position], number] = True
            self._presence = np.packbits(bits, axis=1)
        return self._presence

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

    def all_sets(self, leading: int | None = None) -> ModeSets:
        """Every set of modes of different faults up to the size limit.

        With ``leading`` only those that hold one of so many faults at the head of ``faults``: a set whose modes rise
        holds one of them exactly if its first mode is of one of them.
        """
        m = len(self.mode_fault)
        following = np.searchsorted(self.mode_fault, self.mode_fault, side="right")
        if leading is None:
            return ModeSets(self, grow(np.arange(m), following, m, self.limit))
        first = np.arange(int(np.searchsorted(self.mode_fault, leading)))
        levels = grow(first, following, m, self.limit)
        return ModeSets(self, [levels[0][:0], *levels[1:]])


class ModeSets:
    """Sets of modes over a space, ordered by size. ``levels[s]`` has shape (n_s, s), rows increasing."""

    def __init__(self, space: FaultSpace, levels: Sequence[Ints]) -> None:
        self.space = space
        self.levels = list(levels)
        self.n = sum(len(level) for level in self.levels)
        self._plans: list[_Plan] | None = None
        self._whole: Ints | None = None
        self._long: tuple[Ints, Ints] | None = None
        self._weights: dict[float, Floats] = {}
        self._runs: list[tuple[slice, Ints, Ints | None]] | None = None
        self.numbers: Ints | None = None

    def localise(self) -> ModeSets:
        """Number only the fault sets that these sets can show, in ``numbers``; for few sets of a large space.

        ``shown`` then wants the true outcome of those alone. Returns itself.
        """
        parts = [self.whole(), *(numbers for plan in self.plans() for _, numbers in plan.subsets)]
        self.numbers = np.unique(np.concatenate(parts)) if parts else np.empty(0, dtype=np.int64)
        self._whole = np.searchsorted(self.numbers, self.whole())
        for plan in self.plans():
            plan.subsets = [(awake, np.searchsorted(self.numbers, numbers)) for awake, numbers in plan.subsets]
        self._long = None
        return self

    @classmethod
    def from_padded(cls, space: FaultSpace, modes: Ints) -> tuple[ModeSets, Ints]:
        """Distinct sets among the rows of ``modes`` (n, limit), -1 where there is none.

        Returns the sets, and for each row the place of its set, shape (n,).
        """
        order = np.sort(np.where(modes < 0, np.iinfo(np.int64).max, modes), axis=1)
        distinct, inverse = _distinct_rows(order, len(space.mode_fault))
        sizes = (distinct != np.iinfo(np.int64).max).sum(axis=1)
        by_size = np.argsort(sizes, kind="stable")
        levels = [distinct[sizes == s][:, :s] for s in range(space.limit + 1)]
        place = np.empty(len(distinct), dtype=np.int64)
        place[by_size] = np.arange(len(distinct))
        return cls(space, levels), place[inverse]

    def keep(self, wanted: Bools) -> ModeSets:
        """The sets where ``wanted`` (n,) is true."""
        levels, start, every = [], 0, bool(wanted.all())  # mostly all: one leading fault is what most symptoms take
        for level in self.levels:
            here = wanted[start : start + len(level)]
            levels.append(level if every else level.T.compress(here, axis=1).T)
            start += len(level)
        kept = ModeSets(self.space, levels)
        if self._whole is not None and self.numbers is None:
            kept._whole = self._whole if every else self._whole[wanted]
        return kept

    def padded(self) -> Ints:
        """All sets as one array (n, limit), -1 where there is none."""
        table = np.full((self.n, self.space.limit), -1, dtype=np.int64)
        start = 0
        for size, level in enumerate(self.levels):
            table[start : start + len(level), :size] = level
            start += len(level)
        return table

    def by_mode(self, weights: Floats) -> Floats:
        """Weights of the sets (n,) summed by mode, shape (n_modes,)."""
        if self._runs is None:
            self._runs = list(self._find_runs())
        total = np.zeros(len(self.space.mode_fault))
        for here, modes, starts in self._runs:
            found = weights[here] if starts is None else np.add.reduceat(weights[here], starts)
            total += np.bincount(modes, weights=found, minlength=len(total))
        return total

    def _find_runs(self) -> Iterator[tuple[slice, Ints, Ints | None]]:
        """For each size and column where its sets lie, with their modes, those alike beside each other told once.

        ``starts`` where such runs begin; None where there are hardly any. The sets lie in the order of their modes, so
        that there are few runs in all columns but the last, and adding up a run takes a fourth of the time.
        """
        start = 0
        for level in self.levels:
            here, start = slice(start, start + len(level)), start + len(level)
            for column in level.T if len(level) else ():
                starts = np.flatnonzero(np.diff(column, prepend=-1))
                few = RUN * len(starts) < len(column)
                yield here, column[starts] if few else np.ascontiguousarray(column), starts if few else None

    def log_prior(self) -> Floats:
        """Natural log of each set's prior weight, shape (n,)."""
        logs = [np.zeros(len(level)) for level in self.levels]
        for total, level in zip(logs, self.levels, strict=True):
            for column in level.T:
                total += self.space.log_odds.take(column)
        return np.concatenate(logs)

    def whole(self) -> Ints:
        """The number of each set's fault set, every mode awake, shape (n,)."""
        if self._whole is None:
            self._whole = np.concatenate([self.space.rank_of_modes(level) for level in self.levels])
        return self._whole

    def plans(self) -> list[_Plan]:
        """For each pattern of sleeping modes, the subsets that may be awake."""
        if self._plans is None:
            self._plans = []
            start = 0
            for level in self.levels:
                rows = np.arange(start, start + len(level))
                start += len(level)
                patterns = np.zeros(len(level), dtype=np.int64)
                for position, column in enumerate(level.T):
                    patterns += self.space.sleeps.take(column).astype(np.int64) << position
                for pattern in np.flatnonzero(np.bincount(patterns)):
                    here = np.flatnonzero(patterns == pattern)
                    self._plans.append(_Plan(self.space, rows[here], level.T[:, here].T, int(pattern)))
        return self._plans

    def shown(self, matrix: Floats, true: NDArray[np.int64], wakes: float, whole: bool) -> Floats:
        """L, the probability of each outcome under each set, shape (n, n_outcomes).

        ``matrix`` [shown, true]; ``true`` the true outcome per fault set, (n_subsets,) or by ``numbers``. With
        ``whole`` every mode is awake (the check is about the squawk), else a sleeping one is with
        shows + wakes (1 - shows).
        """
        columns = np.ascontiguousarray(matrix.T)
        if whole:
            return columns[true[self.whole()]]
        if 0 < self.n <= FEW_SETS:
            # How likely each outcome is the true one, set by set; then what it is taken for.
            numbers, row, weights = self._at_once(wakes)
            k = matrix.shape[1]
            truly = np.bincount(row * k + true[numbers], weights=weights, minlength=self.n * k)
            return np.asarray(truly.reshape(self.n, k) @ columns)
        result = np.empty((self.n, matrix.shape[0]))
        awake = self.space.shows + wakes * (1.0 - self.space.shows)
        for plan in self.plans():
            result[plan.rows] = plan.mix(columns, true, awake)
        return result

    def seen(self, likelihood: Floats, true: Ints, wakes: float, whole: bool) -> Floats:
        """How likely each set makes one answer, shape (n,), given its ``likelihood`` (n_outcomes,) by true outcome.

        The same as ``shown`` with that one row, in half the time for many sets.
        """
        if not whole and 0 < self.n <= FEW_SETS:
            return self.shown(likelihood.reshape(1, -1), true, wakes, whole)[:, 0]
        by_number = likelihood.take(true)
        if whole:
            return by_number.take(self.whole())
        result = np.empty(self.n)
        awake = self.space.shows + wakes * (1.0 - self.space.shows)
        for plan in self.plans():
            result[plan.rows] = plan.seen(by_number, awake)
        return result

    def awake(self, weights: Floats, wakes: float, whole: bool) -> Floats:
        """How likely each of ``numbers`` is what shows, the sets being as likely as ``weights`` (n,) say.

        Only for few sets with numbers of their own. ``wakes`` and ``whole`` as for ``shown``.
        """
        assert self.numbers is not None
        if whole:
            return np.asarray(np.bincount(self.whole(), weights=weights, minlength=len(self.numbers)))
        numbers, row, awake = self._at_once(wakes)
        return np.asarray(np.bincount(numbers, weights=weights[row] * awake, minlength=len(self.numbers)))

    def _at_once(self, wakes: float) -> tuple[Ints, Ints, Floats]:
        """All subsets that may be awake: their numbers, the set that each is of, how likely they are.

        For few sets one long row is quicker than a plan for each pattern, which for many would take too much room.
        """
        if self._long is None:
            nothing = np.empty(0, dtype=np.int64)
            parts = [(plan.rows, numbers) for plan in self.plans() for _, numbers in plan.subsets]
            rows = np.concatenate([rows for rows, _ in parts] or [nothing])
            self._long = np.concatenate([numbers for _, numbers in parts] or [nothing]), rows
        if wakes not in self._weights:
            awake = self.space.shows + wakes * (1.0 - self.space.shows)
            likely = [weight for plan in self.plans() for weight in plan.weights(awake)]
            self._weights[wakes] = np.concatenate(likely or [np.empty(0)])
        return *self._long, self._weights[wakes]


class _Plan:
    """Sets of one size with the same pattern of sleeping modes, and the numbers of their awake subsets."""

    def __init__(self, space: FaultSpace, rows: Ints, modes: Ints, pattern: int) -> None:
        self.rows = rows
        size = modes.shape[1]
        self.sleepers = [i for i in range(size) if pattern >> i & 1]
        self.modes = modes
        hard = [i for i in range(size) if not pattern >> i & 1]
        self.subsets: list[tuple[tuple[int, ...], Ints]] = []
        for count in range(len(self.sleepers) + 1):
            for awake in combinations(self.sleepers, count):
                chosen = sorted((*hard, *awake))
                self.subsets.append((awake, space.rank_of_modes(modes.T[chosen].T)))

    def mix(self, columns: Floats, true: Ints, awake: Floats) -> Floats:
        """Mix of matrix columns over the subsets that may be awake, shape (n_rows, n_outcomes)."""
        if not self.sleepers:
            return columns[true[self.subsets[0][1]]]
        total = np.zeros((len(self.rows), columns.shape[1]))
        for (_, numbers), weight in zip(self.subsets, self.weights(awake), strict=True):
            total += weight[:, None] * columns[true[numbers]]
        return total

    def seen(self, by_number: Floats, awake: Floats) -> Floats:
        """Mix of one number for each fault set over the subsets that may be awake, shape (n_rows,)."""
        if not self.sleepers:
            return by_number.take(self.subsets[0][1])
        total = np.zeros(len(self.rows))
        for (_, numbers), weight in zip(self.subsets, self.weights(awake), strict=True):
            total += weight * by_number.take(numbers)
        return total

    def weights(self, awake: Floats) -> Iterator[Floats]:
        """How likely each subset in turn is the one that is awake, shape (n_rows,)."""
        chance = {i: awake.take(self.modes[:, i]) for i in self.sleepers}
        asleep = {i: 1.0 - chance[i] for i in self.sleepers}
        for subset, _ in self.subsets:
            factors = [chance[i] if i in subset else asleep[i] for i in self.sleepers]
            yield reduce(np.multiply, factors) if factors else np.ones(len(self.rows))


def _distinct_rows(rows: Ints, n_modes: int) -> tuple[Ints, Ints]:
    """Distinct rows and the place of each row's twin; through one integer per row where that fits."""
    base = n_modes + 1
    if rows.shape[1] * math.log2(max(base, 2)) < 62:
        code = np.zeros(len(rows), dtype=np.int64)
        for column in range(rows.shape[1]):
            code = code * base + np.minimum(rows[:, column], n_modes)
        _, first, inverse = np.unique(code, return_index=True, return_inverse=True)
        return rows[first], inverse.reshape(-1)
    distinct, inverse = np.unique(rows, axis=0, return_inverse=True)
    return distinct, inverse.reshape(-1)
