"""Rows of the belief grouped by what would have to be done about them.

Two rows that the same actions correct need not be told apart, so bits are counted over these groups.
"""

from __future__ import annotations

import numpy as np

from faulttree.advice.floor import Floor, Standing
from faulttree.advice.play import Play
from faulttree.belief.likelihood import Floats
from faulttree.belief.sets import Ints

WORTH_EXACT = 0.01
"""Weight from which a plan of several actions has its cost worked out move by move."""


class Hypotheses:
    """``plans[g]`` are the actions of group g; ``group`` (n,) the group of each row of the play.

    The unlisted cause is the last group and has no plan: nothing but help corrects it.
    """

    def __init__(self, play: Play, floor: Floor) -> None:
        self.play, self.floor = play, floor
        space = play.frame.space
        self.action_of = [self._cheapest(fault) for fault in space.faults]
        self.plans: list[frozenset[str]] = []
        self._numbers: dict[frozenset[str], int] = {}
        self.group = np.array([self._number(modes) for modes in play.sets.padded()], dtype=np.int64)[play.place]
        self.weights = self.sums(play.weights)
        self._actions = sorted({action for plan in self.plans for action in plan})
        self._in_plan = np.array([[a in plan for a in self._actions] for plan in self.plans], dtype=np.float64)
        self._exact = [g for g, p in enumerate(self.plans) if len(p) > 1 and self.weights[g] >= WORTH_EXACT]

    def _cheapest(self, fault: str) -> str:
        actions = [self.floor.book.actions[a] for a in self.floor.book.faults[fault].corrected_by]
        return min(actions, key=lambda a: (self.floor.step(frozenset(), a)[0] / a.effective, a.id)).id

    def _number(self, modes: Ints) -> int:
        fault = self.play.frame.space.mode_fault
        plan = frozenset(self.action_of[fault[mode]] for mode in modes if mode >= 0)
        if plan not in self._numbers:
            self._numbers[plan] = len(self.plans)
            self.plans.append(plan)
        return self._numbers[plan]

    def sums(self, row_weights: Floats) -> Floats:
        """Weights (n + 1,) of rows and unlisted cause summed by group, shape (n_groups + 1,)."""
        listed = np.bincount(self.group, weights=row_weights[:-1], minlength=len(self.plans))
        return np.append(listed, row_weights[-1])

    def floors(self, standing: Standing) -> Floats:
        """The floor of each group from these conditions, shape (n_groups + 1,).

        A plan of several actions that hardly weighs is taken as the sum of what each adds to the bare proof.
        """
        if not self.plans:
            return np.array([self.floor.figures.help])
        bare = self.floor.of_plan(standing, frozenset())
        adds = np.array([self.floor.of_plan(standing, frozenset([a])) - bare for a in self._actions])
        costs = bare + self._in_plan @ adds if self._actions else np.full(len(self.plans), bare)
        for group in self._exact:
            costs[group] = self.floor.of_plan(standing, self.plans[group])
        return np.append(costs, self.floor.figures.help)


def repair_only(hypotheses: Hypotheses, weights: Floats, standing: Standing) -> float:
    """Expected cost of trying one repair after another, each proved, with help once that has become cheaper.

    ``weights`` (n_groups + 1,) need not sum to one; the cost scales with their sum. Repairs go by falling
    probability / cost, which is best for independent tries (Kadane and Simon, 1977).
    """
    floor = hypotheses.floor
    tries = []
    for plan, weight in zip(hypotheses.plans, weights, strict=False):
        labour = sum(floor.of_work(floor.book.actions[action]) for action in plan)
        tries.append((weight / max(labour, 1.0), sorted(plan), float(weight)))
    tries.sort(key=lambda item: (-item[0], item[1]))
    left, spent = float(weights.sum()), 0.0
    best = left * floor.figures.help
    for _, actions, weight in tries:
        cost, standing = _trying(floor, standing, actions)
        spent += left * cost
        left -= weight
        spent += weight * floor.restoring(standing)
        best = min(best, spent + left * floor.figures.help)
    return best


def _trying(floor: Floor, standing: Standing, plan: list[str]) -> tuple[float, Standing]:
    cost = 0.0
    for name in plan:
        minutes, standing = floor.step(standing, floor.book.actions[name])
        cost += minutes
    minutes, standing = floor.proving(standing, plan)
    return cost + minutes, standing


def entropy(weights: Floats) -> float:
    """Entropy in bits of weights, normalised first."""
    total = float(weights.sum())
    if total <= 0:
        return 0.0
    share = weights[weights > 0] / total
    return float(-(share * np.log2(share)).sum())
