"""What is known of the least cost of one set of states, by beliefs that were looked at: lines above, points below."""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np

from tests.jobs.known_floor import Floats
from tests.jobs.model import Step

ROUNDS = 2
ROUNDING = 1e-9


class Point(Protocol):
    """A state whose lower bound is kept for others; ``point`` its number among those, -1 while it has none."""

    weights: Floats
    done: int
    ever: int
    low: float
    point: int


class Bounds:
    """What is known of all states with the same conditions and repairs, whatever the belief.

    The least cost is concave in the belief, as the least of linear functions. So what was found at one belief bounds
    it at others: a policy's cost by cause is a line above it, and between a point found and the corners of the known
    floor it lies above the chord (Hauskrecht, Journal of Artificial Intelligence Research 13, 2000, section 4.3).
    A point holds where no fewer checks are done and none is newly open; a policy where its checks are still open.
    """

    def __init__(self, floor: Floats, plans: tuple[list[Step], Floats]) -> None:
        self.floor = floor
        self.steps, start = list(plans[0]), plans[1]
        self.lines = Columns(start.T)
        self.uses = Masks(len(start))
        self.needs = Masks(len(start))
        self.inverse, self.absent, self.excess = (Columns(np.zeros((rows, 0))) for rows in (len(floor), len(floor), 1))
        self.points: list[Floats] = []
        self.done, self.ever = Masks(0), Masks(0)

    def above(self, weights: Floats, done: int, ever: int) -> tuple[float, int]:
        """The cheapest policy known that is still open here: its cost and its number."""
        costs = weights @ self.lines.now
        costs[(self.uses.masks & done | self.needs.masks & ~ever) != 0] = math.inf
        cheapest = int(costs.argmin())
        return float(costs[cheapest]), cheapest

    def below(self, weights: Floats, done: int, ever: int) -> float:
        """The best bound that the points give together with the floor."""
        bound = float(self.floor @ weights)
        if not self.points:
            return bound
        excess = np.where((self.done.masks & ~done | ever & ~self.ever.masks) != 0, 0.0, self.excess.now[0])
        for _ in range(ROUNDS):
            share = (weights[:, None] * self.inverse.now + self.absent.now).min(axis=0)
            gains = share * excess
            best = int(gains.argmax())
            if gains[best] <= ROUNDING:
                break
            bound += float(gains[best])
            weights = np.maximum(weights - share[best] * self.points[best], 0.0)
        return bound

    def add_line(self, step: Step, costs: Floats, uses: int, needs: int) -> None:
        self.steps.append(step)
        self.lines.add(costs)
        self.uses.add(uses)
        self.needs.add(needs)

    def add_point(self, node: Point) -> None:
        """Keep a state's lower bound for others, or raise it if it is kept already."""
        excess = node.low - float(self.floor @ node.weights)
        if node.point >= 0:
            self.excess.now[0, node.point] = excess
            return
        node.point = len(self.points)
        there = node.weights > 0.0
        self.points.append(node.weights)
        self.inverse.add(np.divide(1.0, node.weights, out=np.zeros_like(node.weights), where=there))
        self.absent.add(np.where(there, 0.0, math.inf))
        self.excess.add(np.array([excess]))
        self.done.add(node.done)
        self.ever.add(node.ever)


class Columns:
    """A growing array of columns."""

    def __init__(self, start: Floats) -> None:
        self._all = self.now = start.copy()

    def add(self, column: Floats) -> None:
        size = self.now.shape[1]
        if size == self._all.shape[1]:
            self._all = np.hstack([self._all, np.zeros((len(self._all), max(16, size)))])
        self._all[:, size] = column
        self.now = self._all[:, : size + 1]


class Masks:
    """A growing array of bit masks."""

    def __init__(self, size: int) -> None:
        self._all = np.zeros(size + 16, dtype=np.int64)
        self.masks = self._all[:size]

    def add(self, mask: int) -> None:
        size = len(self.masks)
        if size == len(self._all):
            self._all = np.concatenate([self._all, np.zeros_like(self._all)])
        self._all[size] = mask
        self.masks = self._all[: size + 1]
