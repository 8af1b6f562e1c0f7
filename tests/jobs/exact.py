"""The least expected cost of a small job, by best-first search over states of belief with an admissible bound.

A state is the belief, the conditions that stand, the checks done and the faults repaired. Its bound is one step of
look-ahead over the *known floor*: what the job would still cost if its cause were known now, the changes of
conditions along a shortest path. No policy can do better than that, since knowing cannot hurt. The search is that
of AO* (Nilsson, Principles of Artificial Intelligence, 1980, section 3.2), carried out depth-first with a limit for
each state as in Korf, "Linear-space best-first search", Artificial Intelligence 62, 1993; states are kept.
"""

from __future__ import annotations

import heapq
import itertools
import math
import sys
from dataclasses import dataclass
from functools import cache

import numpy as np

from tests.jobs import model
from tests.jobs.bounds import ROUNDING, Bounds
from tests.jobs.known_floor import Floats, Floor, bits, standing
from tests.jobs.model import HELP, Job, Policy, State, Step

SLACK = 0.01
"""How far (share of the value) a branch is followed beyond the next best one, so as not to jump back and forth."""
TINY = 1e-10
SHRINK = 0.6
PLAN_LENGTH = 2
"""Repairs in the plans that bound a state's cost from above: these, then help."""


@dataclass(frozen=True)
class Solution:
    """``value`` is what ``policy`` expects at most, in minutes; no policy expects less than ``low``.

    ``first`` is the step that it begins with, ``states`` the number of states looked at.
    """

    value: float
    low: float
    first: Step
    states: int
    policy: Policy


def solve(job: Job, gap: float = ROUNDING) -> Solution:
    """Work a small job out until the least expected cost is known within ``gap`` minutes."""
    search = _Search(job)
    root = search.node_of(model.begin(job))
    aim = root.high - root.low
    while root.high - root.low > gap:
        aim = max(aim * SHRINK, gap) if gap > ROUNDING else gap
        search.settle(root, math.inf, aim)
    return Solution(root.high, root.low, root.best, len(search.nodes), lambda state: search.node_of(state).best)


# ------------------------------------------------------------------------------------------------- steps


@dataclass(frozen=True)
class _Move:
    """One step from given conditions and repairs. ``bound`` (n_hypotheses + 1,) prices the step for each cause."""

    step: Step
    minutes: float
    standing: int
    bound: Floats
    chances: tuple[Floats, ...]
    end: Floats | None
    repaired: frozenset[int]


class _Table:
    """All steps from one set of conditions after given repairs, with their linear bounds."""

    def __init__(self, moves: list[_Move], job: Job) -> None:
        self.moves = moves
        self.bounds = np.array([move.bound for move in moves])
        self.check = [move.step[1] if move.step[0] == "check" and len(move.step) > 1 else -1 for move in moves]
        self.after = [bits(job.checks[c].after) if c >= 0 else 0 for c in self.check]
        self.open: dict[tuple[int, int], Floats] = {}

    def closed(self, done: int, ever: int) -> Floats:
        """Infinite for the checks that are not open, else zero."""
        found = self.open.get((done, ever))
        if found is None:
            shut = [
                c >= 0 and (bool(done >> c & 1) or after & ~ever != 0)
                for c, after in zip(self.check, self.after, strict=True)
            ]
            found = self.open[done, ever] = np.where(shut, math.inf, 0.0)
        return found


_Choice = tuple[float, int, _Move, list[tuple[float, "_Node"]] | None]
"""A step to choose: its bound, a number that breaks ties, the step, and what it can lead to once worked out."""


class _Node:
    """One state: its cost lies between ``low`` and ``high``; the policy on ``line`` of its bounds keeps to ``high``."""

    __slots__ = ("bounds", "done", "ever", "heap", "high", "line", "low", "point", "repaired", "standing", "weights")

    def __init__(self, weights: Floats, standing: int, done: int, ever: int, repaired: frozenset[int]) -> None:
        self.weights, self.standing, self.done, self.ever, self.repaired = weights, standing, done, ever, repaired
        self.bounds: Bounds
        self.low, self.high, self.line, self.point = 0.0, math.inf, 0, -1
        self.heap: list[_Choice] | None = None

    @property
    def best(self) -> Step:
        return self.bounds.steps[self.line]

    def look_up(self) -> None:
        """Take over what is known by now of other beliefs."""
        low = self.bounds.below(self.weights, self.done, self.ever)
        high, line = self.bounds.above(self.weights, self.done, self.ever)
        if high < self.high:
            self.high, self.line = high, line
        self.low = min(max(self.low, low), self.high)


class _Search:
    def __init__(self, job: Job) -> None:
        self.job = job
        self.floor = Floor(job)
        self.nodes: dict[tuple[bytes, int, int, int, frozenset[int]], _Node] = {}
        self.prerequisites = bits(frozenset(c for check in job.checks for c in check.after))
        self.tables: dict[tuple[int, frozenset[int]], _Table] = {}
        self.bounds: dict[tuple[int, frozenset[int]], Bounds] = {}
        self.floors = cache(self.floor.table)
        self.plans = cache(self._plans)
        self.order = itertools.count()
        sys.setrecursionlimit(max(sys.getrecursionlimit(), 10_000))

    # -- states ----------------------------------------------------------------------------------------

    def node_of(self, state: State) -> _Node:
        return self.node(
            np.array(state.weights),
            bits(state.standing),
            bits(state.done),
            bits(state.ever_done) & self.prerequisites,
            frozenset(state.repaired),
        )

    def node(self, weights: Floats, standing: int, done: int, ever: int, repaired: frozenset[int]) -> _Node:
        key = (np.rint(weights * 1e12).astype(np.int64).tobytes(), standing, done, ever, repaired)
        found = self.nodes.get(key)
        if found is None:
            found = self.nodes[key] = _Node(weights, standing, done, ever, repaired)
            found.bounds = self.bounds_of(standing, repaired)
            table = self.table(standing, repaired)
            found.low = float((table.bounds @ weights + table.closed(done, ever)).min())
            found.look_up()
        return found

    def bounds_of(self, standing: int, repaired: frozenset[int]) -> Bounds:
        found = self.bounds.get((standing, repaired))
        if found is None:
            plans = self.plans(standing, repaired, PLAN_LENGTH)
            found = self.bounds[standing, repaired] = Bounds(self.floors(repaired)[standing], plans)
        return found

    def _plans(self, standing: int, repaired: frozenset[int], length: int) -> tuple[list[Step], Floats]:
        """Cost by cause (n_plans, n_hypotheses + 1) of repairing at most so many faults, then calling help."""
        steps, costs = [HELP], [np.full((1, len(self.job.hypotheses) + 1), self.job.help)]
        for move in self.table(standing, repaired).moves if length else ():
            if move.end is not None:
                _, later = self.plans(move.standing, move.repaired, length - 1)
                costs.append(move.minutes + move.end + move.chances[0] * later)
                steps += [move.step] * len(later)
        return steps, np.vstack(costs)

    # -- steps -----------------------------------------------------------------------------------------

    def table(self, standing: int, repaired: frozenset[int]) -> _Table:
        found = self.tables.get((standing, repaired))
        if found is None:
            found = self.tables[standing, repaired] = _Table(self._moves(standing, repaired), self.job)
        return found

    def _moves(self, mask: int, repaired: frozenset[int]) -> list[_Move]:
        job = self.job
        done = State((), standing(mask), frozenset(), frozenset(range(len(job.checks))), tuple(repaired))
        moves: dict[tuple[object, ...], _Move] = {}
        for step in model.options(job, done):
            move = self._move(mask, repaired, step)
            moves.setdefault((*step[:2], move.standing, move.minutes), move)
        return list(moves.values())

    def _move(self, mask: int, repaired: frozenset[int], step: Step) -> _Move:
        job = self.job
        if len(step) == 1:
            return _Move(step, job.help, mask, np.full(len(job.hypotheses) + 1, job.help), (), None, repaired)
        minutes, up = model.move(job, standing(mask), model.needs_of(job, step))
        if step[0] == "check":
            minutes += job.checks[step[1]].minutes
            bad = np.array(model.shows_bad(job, job.checks[step[1]], repaired))
            bound = self.floors(repaired)[bits(up)] + minutes
            return _Move(step, minutes, bits(up), bound, (bad, 1.0 - bad), None, repaired)
        to_proof, up = model.move(job, up, job.proof.needs)
        minutes += job.faults[step[1]].repair + to_proof + job.proof.minutes
        after = repaired | {step[1]}
        fails = np.array(model.proof_fails(job, after))
        comes_back = job.comeback * np.array(model.still_stands(job, after), dtype=float)
        end = (1.0 - fails) * (model.restore_all(job, up) + comes_back)
        bound = minutes + end + fails * self.floors(after)[bits(up)]
        return _Move(step, minutes, bits(up), bound, (fails,), end, after)

    # -- search ----------------------------------------------------------------------------------------

    def settle(self, node: _Node, limit: float, gap: float) -> None:
        """Narrow a state's bounds until they are within the gap or the lower one reaches the limit."""
        node.look_up()
        gap = max(gap, TINY)
        before = node.low
        if node.high - node.low <= gap or node.low >= limit:
            return
        if node.heap is None:
            node.heap = self._expand(node)
        heap = node.heap
        while True:
            low, _, move, children = heap[0]
            node.low = max(node.low, min(low, node.high))
            if node.high - node.low <= gap or node.low >= limit:
                break
            if children is None:
                children = self._children(node, move)
            else:
                second = min((entry[0] for entry in heap[1:3]), default=math.inf)
                self._settle_children(node, move, children, min(limit, node.high, second * (1.0 + SLACK)), gap)
            low, high = self._price(node, move, children)
            if high < node.high - TINY / 2:
                self._improve(node, move, children)
            heapq.heapreplace(heap, (low, next(self.order), move, children))
        if node.high - node.low <= ROUNDING:
            node.heap = None
        if node.low - before > ROUNDING:
            node.bounds.add_point(node)

    def _improve(self, node: _Node, move: _Move, children: list[tuple[float, _Node]]) -> None:
        """Keep the policy that begins with this step as a line above the cost of all such states."""
        costs = move.minutes + (0.0 if move.end is None else move.end)
        uses, needs, left = 0, 0, list(children)
        check = move.step[1] if move.step[0] == "check" and len(move.step) > 1 else -1
        for chances in move.chances:
            if float(chances @ node.weights) <= model.CERTAIN_LOSS:
                costs = costs + chances * self.job.help
                continue
            _, child = left.pop(0)
            costs = costs + chances * child.bounds.lines.now[:, child.line]
            needs |= int(child.bounds.needs.masks[child.line])
            if check >= 0:
                uses |= int(child.bounds.uses.masks[child.line])
        if check >= 0:
            uses |= 1 << check
            needs = needs & ~(1 << check) | bits(self.job.checks[check].after)
        node.bounds.add_line(move.step, costs, uses, needs)
        node.line = len(node.bounds.steps) - 1
        node.high = float(costs @ node.weights)

    def _expand(self, node: _Node) -> list[_Choice]:
        table = self.table(node.standing, node.repaired)
        bounds = (table.bounds @ node.weights + table.closed(node.done, node.ever)).tolist()
        heap: list[_Choice] = [
            (low, next(self.order), move, None)
            for low, move in zip(bounds, table.moves, strict=True)
            if low <= node.high
        ]
        heapq.heapify(heap)
        return heap

    def _children(self, node: _Node, move: _Move) -> list[tuple[float, _Node]]:
        children = []
        check = 0
        if move.step[0] == "check" and len(move.step) > 1:
            check = 1 << move.step[1]
        done = node.done | check if check else 0
        ever = node.ever | check & self.prerequisites
        for chances in move.chances:
            joint = node.weights * chances
            probability = float(joint.sum())
            if probability > model.CERTAIN_LOSS:
                child = self.node(joint / probability, move.standing, done, ever, move.repaired)
                children.append((probability, child))
        return children

    def _price(self, node: _Node, move: _Move, children: list[tuple[float, _Node]]) -> tuple[float, float]:
        """Bounds of the cost of a step whose outcomes have these bounds."""
        low = high = move.minutes + (0.0 if move.end is None else float(move.end @ node.weights))
        for probability, child in children:
            low += probability * child.low
            high += probability * child.high
        return low, high

    def _settle_children(
        self, node: _Node, move: _Move, children: list[tuple[float, _Node]], limit: float, gap: float
    ) -> None:
        """Work on the outcome that leaves most open, as long as the step may still stay below the limit."""
        if not children:
            return
        low, high = self._price(node, move, children)
        probability, child = max(children, key=lambda pair: pair[0] * (pair[1].high - pair[1].low))
        own = child.high - child.low
        others = high - low - probability * own
        aim = (gap - others) / probability
        if gap > ROUNDING:  # else every outcome has to be exact in the end
            aim = max(SHRINK * own, aim)
        self.settle(child, child.low + (limit - low) / probability + ROUNDING, aim)
