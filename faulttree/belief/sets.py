"""Sets of fault modes over a space: what each weighs, and the likelihood of what a check shows on it.

A :class:`ModeSets` turns a true outcome per subset of faults into that likelihood, sleeping modes included.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import reduce
from itertools import combinations

import numpy as np

from faulttree.belief.likelihood import Floats
from faulttree.belief.space import Bools, FaultSpace, Ints, Outcomes

FEW_SETS = 4096
"""Up to so many sets all that may be awake is worked out in one go."""

RUN = 4
"""Sets that lie beside each other with the same mode, in the mean, from which they are added up as runs."""


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
        self._padded: Ints | None = None
        self._in_order: Ints | None = None
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
        """All sets as one array (n, limit), -1 where there is none; the same one each time."""
        if self._padded is None:
            self._padded = np.full((self.n, self.space.limit), -1, dtype=np.int64)
            start = 0
            for size, level in enumerate(self.levels):
                self._padded[start : start + len(level), :size] = level
                start += len(level)
        return self._padded

    def in_order(self) -> Ints:
        """0 … n - 1, the same array each time."""
        if self._in_order is None:
            self._in_order = np.arange(self.n)
        return self._in_order

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

    def shown(self, matrix: Floats, true: Outcomes | Ints, wakes: float, whole: bool) -> Floats:
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

    def seen(self, likelihood: Floats, true: Outcomes | Ints, wakes: float, whole: bool) -> Floats:
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
        self.asleep = {i: np.ascontiguousarray(modes[:, i]) for i in self.sleepers}
        hard = [i for i in range(size) if not pattern >> i & 1]
        self.subsets: list[tuple[tuple[int, ...], Ints]] = []
        for count in range(len(self.sleepers) + 1):
            for awake in combinations(self.sleepers, count):
                chosen = sorted((*hard, *awake))
                self.subsets.append((awake, space.rank_of_modes(modes.T[chosen].T)))

    def mix(self, columns: Floats, true: Outcomes | Ints, awake: Floats) -> Floats:
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
        chance = {i: awake.take(modes) for i, modes in self.asleep.items()}
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
