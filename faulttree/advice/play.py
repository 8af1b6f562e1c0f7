"""The rows that advice plays on: the heaviest of the belief, and the unlisted cause as the last one.

Advice need not be right to the sixth digit, so it plays on at least 99 % of the weight and at most a few
thousand rows; the full table is for the ranking.
"""

from __future__ import annotations

import numpy as np

from faulttree.belief import Belief
from faulttree.belief.frame import Frame
from faulttree.belief.likelihood import Floats
from faulttree.belief.sets import Ints, ModeSets
from faulttree.book.model import THE_SQUAWK, Check

MASS = 0.99
MOST_ROWS = 3000
MOST_GIVEN = 200
"""Rows for the unlisted cause's mean column: a few per cent of the weight need no more."""


class Play:
    """Rows of hypotheses. ``weights`` (n + 1,) sum to one, the last is the unlisted cause.

    ``modes`` (n, limit) are the standing modes of each row, -1 for none; ``base`` (n,) its set as it was.
    """

    def __init__(self, belief: Belief) -> None:
        self.replay = belief.replay
        self.frame: Frame = belief.replay.frame
        self.book = belief.book
        chosen = heaviest(belief.rows)
        self.base = self.replay.base[chosen]
        self.modes = self.replay.modes[chosen]
        weights = np.append(belief.rows[chosen], belief.unlisted)
        total = float(weights.sum())
        self.weights: Floats = weights / total if total > 0 else np.append(np.zeros(len(chosen)), 1.0)
        self._holds: Floats | None = None
        self.sets, self.place = self._distinct(self.modes)
        # Before any action the sets stand as they were.
        as_they_were = self.frame.base.padded()[self.base] if self.replay.acted else None
        self._as_it_was = (self.sets, self.place) if as_they_were is None else self._distinct(as_they_were)

    def _distinct(self, modes: Ints) -> tuple[ModeSets, Ints]:
        sets, place = ModeSets.from_padded(self.frame.space, modes)
        return sets.localise(), place

    def likeliest(self, weights: Floats) -> list[str | None]:
        """The likeliest fault under each column of row weights (n + 1, k); None where it is the unlisted cause."""
        space = self.frame.space
        if not len(space.faults):
            return [None] * weights.shape[1]
        if self._holds is None:
            self._holds = np.zeros((len(space.faults), len(self.modes)))
            for modes in self.modes.T:
                there = np.flatnonzero(modes >= 0)
                self._holds[space.mode_fault[modes[there]], there] = 1.0
        by_fault = self._holds @ weights[:-1]
        best = by_fault.argmax(axis=0)
        most = by_fault[best, np.arange(weights.shape[1])]
        return [space.faults[i] if m > u else None for i, m, u in zip(best, most, weights[-1], strict=True)]

    def columns(self, check: Check) -> Floats:
        """Probability of each outcome under each row, shape (n + 1, n_outcomes)."""
        squawk = self.replay.squawk()
        if check.about == "squawk" and not check.proof:
            sets, place = self._as_it_was
        else:
            sets, place = self.sets, self.place
        return np.vstack([self.frame.shown(check, squawk, sets)[place], self.unlisted_column(check)])

    def unlisted_column(self, check: Check) -> Floats:
        """What the check shows under the unlisted cause, on the heaviest sets, shape (1, n_outcomes)."""
        if any(outcome.when == THE_SQUAWK for outcome in check.outcomes) or self.frame.given is None:
            return self.frame.shown_unlisted(check, self.replay.squawk())
        if check.id not in self.frame.heavy_means:
            sets, weights = heavy_given(self.frame)
            self.frame.heavy_means[check.id] = (weights @ self.frame.shown(check, (), sets)).reshape(1, -1)
        return self.frame.heavy_means[check.id]

    def proof_columns(self, check: Check, modes: Ints) -> Floats:
        """What a proof shows on rows with these standing modes, shape (n, n_outcomes).

        The proof asked about is the one after an action still to be done, so every symptom reported so far
        is part of the squawk.
        """
        squawk = reported(self)
        sets, place = ModeSets.from_padded(self.frame.space, modes)
        return self.frame.shown(check, squawk, sets)[place]


def reported(play: Play) -> tuple[str, ...]:
    """All symptoms reported in the case so far."""
    return tuple(sorted(set(play.frame.symptoms.reported) | set(play.replay.reported_later())))


def heaviest(weights: Floats, most: int = MOST_ROWS) -> Ints:
    """Places of the heaviest rows: MASS of the weight, at most ``most`` of them."""
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
