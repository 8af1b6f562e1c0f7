"""The rows that advice plays on: the heaviest of the belief, what repairs make of them, and the unlisted cause.

Advice need not be right to the sixth digit, so it plays on 99 % of the weight, or on eight hundred rows; the full
table is for the ranking. Faults that have no part in what was reported are left out of the rows: a lamp that may be
dead beside the cause neither fails the proof nor is worth a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import cast

import numpy as np

from faulttree.advice.progress import found_and_open
from faulttree.belief import Belief
from faulttree.belief.frame import Frame
from faulttree.belief.likelihood import Floats
from faulttree.belief.sets import ModeSets
from faulttree.belief.space import Bools, Ints
from faulttree.book.model import THE_SQUAWK, Action, Check
from faulttree.graph.gates import Gates

MASS = 0.99
MOST_ROWS = 800
MOST_GIVEN = 200
"""Rows for the unlisted cause's mean column: a few per cent of the weight need no more."""

NOTHING = -1


class Rows:
    """Rows of hypotheses. ``weights`` (n + 1,) sum to one, the last is the unlisted cause.

    ``modes`` (n, limit) are the standing modes of each row, -1 for none; ``base`` (n,) the place of its set as it was
    in ``sets_as_they_were``, -1 for the row on which nothing stands any more. Rows that only a repair leads to weigh
    nothing yet.
    """

    def __init__(self, belief: Belief, gates: Gates) -> None:
        self.replay = belief.replay
        self.frame: Frame = belief.replay.frame
        self.book = belief.book
        chosen = heaviest(belief.rows)
        self.sets_as_they_were, base, modes, heavy = self._that_bear(chosen, belief.rows[chosen], gates)
        self.base, self.modes = _with_what_repairs_leave(base, modes)
        added = np.zeros(len(self.base) - len(heavy))
        weights = np.concatenate([heavy, added, [belief.unlisted]])
        total = float(weights.sum())
        self.weights: Floats = weights / total if total > 0 else np.append(np.zeros(len(self.base)), 1.0)

    def _that_bear(self, chosen: Ints, weights: Floats, gates: Gates) -> tuple[Ints, Ints, Ints, Floats]:
        """Rows with those faults alone that bear on what was reported, or were found; equal ones are put together.

        Returns the sets as they were (k, limit), and of each row the place of its own, its modes, its weight.
        """
        modes = self.replay.modes[chosen]
        before = self.frame.base.padded()[self.replay.base[chosen]] if self.frame.base.n else modes
        symptoms = [self.book.symptoms[name].when for name in reported(self)]
        if symptoms:
            space = self.frame.space
            bearing = frozenset[str]().union(*(gates.below(name) for name in symptoms))
            bearing |= found_and_open(self.book, self.replay.taken)
            bears = np.append(np.isin(space.mode_fault, [i for i, f in enumerate(space.faults) if f in bearing]), False)
            modes, before = (_only(table, bears) for table in (modes, before))
        pairs, inverse = np.unique(np.hstack([before, modes]), axis=0, return_inverse=True)
        limit = modes.shape[1]
        sets, place = np.unique(pairs[:, :limit], axis=0, return_inverse=True)
        summed: Floats = np.bincount(inverse.reshape(-1), weights=weights, minlength=len(pairs)).astype(np.float64)
        return sets, place.reshape(-1).astype(np.int64), pairs[:, limit:], summed

    def put_in_order(self, order: Ints) -> None:
        """Rearrange the rows: the new row i is the old row ``order[i]``; the unlisted cause stays last."""
        self.base, self.modes = self.base[order], self.modes[order]
        self.weights = self.weights[np.append(order, len(order))]
        self._row_of = {key: row for row, key in reversed(list(enumerate(keys_of(self.modes))))}
        self.sets, self.place = self._distinct(self.modes)
        # Before any action the sets stand as they were; where nothing stands any more the base does not count.
        as_they_were = self.sets_as_they_were[self.base] if len(self.sets_as_they_were) else self.modes
        self._sets_before, self._place_before = self._distinct(as_they_were)

    def _distinct(self, modes: Ints) -> tuple[ModeSets, Ints]:
        sets, place = ModeSets.from_padded(self.frame.space, modes)
        return sets.localise(), place

    def stands(self) -> Bools:
        """Whether anything stands on each row, the unlisted cause included, shape (n + 1,)."""
        return np.append((self.modes >= 0).any(axis=1), True)

    def holds(self) -> Floats:
        """Which faults stand on each row, as ones, shape (n_faults, n)."""
        space = self.frame.space
        there = np.zeros((len(space.faults), len(self.modes)))
        for modes in self.modes.T:
            rows = np.flatnonzero(modes >= 0)
            there[space.mode_fault[modes[rows]], rows] = 1.0
        return there

    def in_play(self) -> frozenset[str]:
        """Faults that stand on any row."""
        space = self.frame.space
        return frozenset(space.faults[space.mode_fault[mode]] for mode in np.unique(self.modes) if mode >= 0)

    def after_action(self, action: Action) -> Ints:
        """For each row the one that it becomes if the action corrects all that it can, shape (n + 1,)."""
        fixable = self.frame.space.modes_of(action.corrects)
        result = np.arange(len(self.modes) + 1)
        mended = fixable[self.modes]
        rows = np.flatnonzero(mended.any(axis=1))
        left = np.where(mended[rows], NOTHING, self.modes[rows])
        result[rows] = [self._row_of[key] for key in keys_of(left)]
        return result

    def columns(self, checks: Sequence[Check]) -> Floats:
        """Probability of each outcome under each row, the checks side by side, shape (n + 1, n_columns)."""
        first = np.cumsum([0, *(len(check.outcomes) for check in checks)]).tolist()
        table = np.empty((len(self.weights), first[-1]))
        table[-1] = np.concatenate([np.empty(0), *self._unlisted(checks)])
        of_squawk = [c for c, check in enumerate(checks) if check.about == "squawk" and not check.proof]
        of_now = [c for c in range(len(checks)) if c not in of_squawk]
        for places, squawk, sets, set_of_row in (
            (of_squawk, self.replay.squawk(), self._sets_before, self._place_before),
            (of_now, reported(self), self.sets, self.place),
        ):
            shown = list(self.frame.shown_at([checks[c] for c in places], squawk, sets))
            if shown:
                beside = [column for c in places for column in range(first[c], first[c + 1])]
                table[:-1, beside] = np.hstack(shown)[set_of_row]
        for c in of_squawk:
            table[:-1][self.base == NOTHING, first[c] : first[c + 1]] = table[-1, first[c] : first[c + 1]]
        return table

    def _unlisted(self, checks: Sequence[Check]) -> list[Floats]:
        """What each check shows under the unlisted cause, on the heaviest sets, each (n_outcomes,)."""
        frame = self.frame
        as_the_frame = [
            frame.given is None or any(outcome.when == THE_SQUAWK for outcome in check.outcomes) for check in checks
        ]
        means = [check for check, other in zip(checks, as_the_frame, strict=True) if not other]
        self._learn_means([check for check in means if check.id not in frame.heavy_means])
        return [
            frame.shown_unlisted(check, self.replay.squawk())[0] if other else frame.heavy_means[check.id]
            for check, other in zip(checks, as_the_frame, strict=True)
        ]

    def _learn_means(self, checks: Sequence[Check]) -> None:
        """Works out the mean column of checks over the heaviest sets given the symptoms; kept with the frame."""
        if not checks:
            return
        frame = self.frame
        sets, weights = heavy_given(frame)
        assert sets.numbers is not None
        for check, true in zip(checks, frame.true_at(checks, (), sets.numbers), strict=True):
            whole = check.about == "squawk"
            if (check.wakes, whole) not in frame.heavy_awake:
                frame.heavy_awake[check.wakes, whole] = sets.awake(weights, check.wakes, whole)
            mean = np.bincount(true, weights=frame.heavy_awake[check.wakes, whole], minlength=len(check.outcomes))
            frame.heavy_means[check.id] = frame.matrix(check) @ mean


def reported(rows: Rows) -> tuple[str, ...]:
    """All symptoms reported in the case so far: a proof to come asks for all of them."""
    return tuple(sorted(set(rows.frame.symptoms.reported) | set(rows.replay.reported_later())))


def heaviest(weights: Floats, most: int = MOST_ROWS) -> Ints:
    """Places of the heaviest rows: MASS of the weight, at most ``most`` of them (two symptoms have thousands)."""
    if len(weights) == 0:
        return np.empty(0, dtype=np.int64)
    # What is lighter than an even share of the rest could all be left out, so only the others are sorted.
    heavy = np.flatnonzero(weights >= (1.0 - MASS) * weights.sum() / len(weights))
    order = heavy[np.argsort(weights[heavy], kind="stable")[::-1]]
    reached = np.cumsum(weights[order])
    enough = int(np.searchsorted(reached, MASS * weights.sum())) + 1
    return np.sort(order[: min(enough, most)])


def heavy_given(frame: Frame) -> tuple[ModeSets, Floats]:
    """The heaviest sets given the symptoms alone, with normalised weights (n,); kept with the frame."""
    if frame.heavy is None:
        assert frame.given is not None
        keep = np.zeros(frame.base.n, dtype=np.bool_)
        keep[heaviest(frame.given, MOST_GIVEN)] = True
        weights = frame.given[keep]
        frame.heavy = (frame.base.keep(keep).localise(), weights / weights.sum())
    return frame.heavy


def _only(modes: Ints, wanted: Bools) -> Ints:
    """Rows of modes with those not wanted left out, the others in their order, -1 behind them."""
    kept = np.where(wanted[modes], modes, np.iinfo(np.int64).max)
    kept.sort(axis=1)
    kept[kept == np.iinfo(np.int64).max] = NOTHING
    return kept


def keys_of(modes: Ints) -> list[bytes]:
    """One key for each row of numbers (n, any), the same for the same numbers in whatever order."""
    ordered = np.sort(modes, axis=1)
    whole = np.dtype((np.void, ordered.itemsize * ordered.shape[1]))
    return cast(list[bytes], ordered.view(whole).reshape(-1).tolist()) if ordered.size else [b""] * len(ordered)


def _with_what_repairs_leave(base: Ints, modes: Ints) -> tuple[Ints, Ints]:
    """The rows with one more for every smaller set that a repair can leave, the empty one included."""
    keys = [tuple(sorted([mode for mode in row if mode >= 0])) for row in modes.tolist()]
    known = set(keys)
    more: list[tuple[int, tuple[int, ...]]] = []
    for was, standing in zip(base, keys, strict=True):
        for size in range(1, len(standing)):
            for left in combinations(standing, size):
                if left not in known:
                    known.add(left)
                    more.append((int(was), left))
    if () not in known:
        more.append((NOTHING, ()))
    added = np.full((len(more), modes.shape[1]), NOTHING, dtype=np.int64)
    for place, (_, left) in enumerate(more):
        added[place, : len(left)] = left
    return np.append(base, [was for was, _ in more]).astype(np.int64), np.vstack([modes, added])
