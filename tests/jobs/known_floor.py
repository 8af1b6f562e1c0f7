"""What a small job would still cost if its cause were known now: no policy can do better, since knowing cannot hurt."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from functools import cache

import numpy as np
import numpy.typing as npt

from tests.jobs import model
from tests.jobs.model import Job, Standing

Floats = npt.NDArray[np.float64]


class Floor:
    """``known[S, h]``: cost from condition set S (a bit mask) if hypothesis h, the unlisted cause last, were known."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.distance = shortest_paths(job)
        size = len(self.distance)
        restore = [model.restore_all(job, standing(mask)) for mask in range(size)]
        self.restore = np.array(restore)
        self.way_out = min(job.help, job.comeback)
        proof = self._arrive(job.proof.needs)
        self.end = (proof + (job.proof.minutes + self.restore)).min(axis=1)
        self.proof = proof + job.proof.minutes
        self.reach = [self._arrive(fault.needs) + fault.repair for fault in job.faults]
        self.known = cache(self._known)

    def _arrive(self, needs: Sequence[int]) -> Floats:
        """Distances (n_sets, n_sets), infinite to sets in which the needs do not stand."""
        wanted = bits(model.closed(self.job, needs))
        lacking = np.array([0.0 if mask & wanted == wanted else math.inf for mask in range(len(self.distance))])
        return self.distance + lacking

    def _known(self, left: frozenset[int]) -> Floats:
        """Cost by condition set (n_sets,) if exactly these faults stand, not above the cheapest way out."""
        best = np.full(len(self.distance), self.way_out)
        for fault in left:
            rest = left - {fault}
            after = self.end if not rest else (self.proof + self.known(rest)).min(axis=1)
            np.minimum(best, (self.reach[fault] + after).min(axis=1), out=best)
        return best

    def table(self, repaired: frozenset[int]) -> Floats:
        """Cost (n_sets, n_hypotheses + 1) after these repairs; what nothing is left of costs nothing."""
        nothing = np.zeros(len(self.distance))
        columns = []
        for hypothesis in self.job.hypotheses:
            left = frozenset(fault for fault, _ in hypothesis.faults) - repaired
            columns.append(self.known(left) if left else nothing)
        columns.append(np.full(len(self.distance), self.way_out))
        return np.array(columns).T


def shortest_paths(job: Job) -> Floats:
    """Fewest minutes from one set of conditions to another by single set-ups and restores, (n_sets, n_sets)."""
    size = 1 << len(job.conditions)
    edges = [_single_moves(job, mask) for mask in range(size)]
    result = np.full((size, size), math.inf)
    for start in range(size):
        queue = [(0.0, start)]
        while queue:
            minutes, mask = heapq.heappop(queue)
            if minutes < result[start, mask]:
                result[start, mask] = minutes
                for more, after in edges[mask]:
                    heapq.heappush(queue, (minutes + more, after))
    return result


def _single_moves(job: Job, mask: int) -> list[tuple[float, int]]:
    up = standing(mask)
    moves = []
    for c, condition in enumerate(job.conditions):
        if up.intersection(condition.not_while):
            continue
        if c in up:
            if not any(c in job.conditions[other].implies for other in up):
                moves.append((condition.restore, mask & ~(1 << c)))
        elif up.issuperset(condition.implies) and not any(model.excluded(job, c, other) for other in (*up, c)):
            moves.append((condition.set_up, mask | 1 << c))
    return moves


@cache
def standing(mask: int) -> Standing:
    """The set of a bit mask."""
    return frozenset(i for i in range(mask.bit_length()) if mask >> i & 1)


def bits(members: Sequence[int] | Standing) -> int:
    """The bit mask of a set."""
    return sum(1 << i for i in members)
