"""What is remembered in part once a repair failed: the rows have become others, what was shown was shown before it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from faulttree.advice.job import Job
from faulttree.belief.likelihood import Floats
from faulttree.workshop.flows import Blur, Story
from faulttree.workshop.ways import Facts


class Mending:
    """The repairs of one job."""

    def __init__(self, job: Job, facts: Facts) -> None:
        self.job, self.facts = job, facts
        self._mends: dict[int, tuple[NDArray[np.intp], NDArray[np.intp], Floats]] = {}

    def blur_after(self, a: int, story: Story, weights: Floats) -> Blur | None:
        """What is remembered in part once a repair failed: the rows have become others."""
        blur = story.blur
        if blur is not None and not self.facts.ticked:
            blur = blur.without(sum(1 << bit for bit in blur.places if not self.facts.stays_known(bit)))
        if blur is None:
            return None
        table = self._after_failed(a, weights * blur.shares())
        table /= np.maximum(self.job.after_failed(a, weights), 1e-300)
        places: dict[int, int] = {}
        for row, bit in enumerate(blur.places):
            then = self.facts.bit_after_repair(bit)
            if then in places:  # shown before this repair by some, and before an earlier one by others
                table[places[then]] += table[row]
            else:
                places[then] = row
        return Blur(places, table)

    def _after_failed(self, a: int, weights: Floats) -> Floats:
        """Many weights at one go once a repair failed, shape (any, n + 1)."""
        if a not in self._mends:
            to = self.job.becomes[a]
            others = np.flatnonzero(to != np.arange(len(to)))
            into, which = np.unique(to[others], return_inverse=True)
            self._mends[a] = others, into, np.eye(len(into))[which]
        (others, into, whither), effective = self._mends[a], float(self.job.effective[a, 0])
        found = weights.copy()
        found[:, others] *= 1.0 - effective
        found[:, into] += effective * (weights[:, others] @ whither)
        return np.asarray(found * self.job.proof_fails)
