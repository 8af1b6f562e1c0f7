"""A plan of numbered steps: each leads on to a later one by what it showed, and what was done is not done again.

The steps form a graph without rings. What a step is worth is one number for each row of the job (what it would cost
from there if that row were the truth), so that the worth of a step to any belief is a product of two vectors: a finite
controller of a partly seen process (Hansen, "Solving POMDPs by searching in policy space", UAI 1998), here without
rings, and with the ticks on the paper as its memory: a check met again since the last repair shows what it showed, a
repair met again has failed. The safety rules go by sets over all ways to a step, whatever their chance (``ways``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.advice.choice import Step
from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Check
from faulttree.workshop.ways import Behind, Facts, Onward

END, HELP = -1, 0
"""Where a passed proof leads, and the number of the step that calls for help."""

UNFORESEEN = 1e-6
"""What an outcome that cannot be is taken to weigh, so that it leads somewhere sensible."""

LIGHT = 2e-3
MOST_STORIES = 6
"""Ways to a step that are lighter than this, or more than so many, are put together; what they do not share is lost."""

Edge = tuple[int, int]
START: Edge = (-1, 0)


class Story(NamedTuple):
    """What stands, and the bits of what is remembered: outcomes by their columns, then repairs (see ``Facts``)."""

    standing: Standing
    known: int


Flow = dict[Story, Floats]
"""Weights of the rows (n + 1,) that come along a way, by what was done before; not normalised."""

UNTOUCHED = Story(frozenset(), 0)


@dataclass
class Node:
    """A step and where it leads: by outcome for a check; for a repair to the end and, the proof failed, elsewhere."""

    step: Step
    to: list[int] = field(default_factory=list)


class Plan:
    """Steps by number; ``root`` is the first. Step 0 calls for help. Values in minutes of cost."""

    def __init__(self, round_: Round) -> None:
        self.round, self.job, self.tables = round_, round_.job, round_.play.rule.tables
        self.facts = Facts(round_)
        self.nodes: dict[int, Node] = {HELP: Node(Step("help"))}
        self.root = HELP
        self._next = 1
        self._values: dict[int, dict[Standing, Floats]] = {}
        self._remembered: dict[int, dict[int, Floats]] = {}
        self._onward: dict[int, Onward] = {}
        self._costs: dict[tuple[Step, Standing], tuple[float, Standing] | None] = {}
        self._help = np.full(len(self.job.weights), self.job.figures.help)

    # -- the graph -------------------------------------------------------------------------------------

    def add(self, step: Step, to: list[int]) -> int:
        """A new step; its number."""
        number, self._next = self._next, self._next + 1
        self.nodes[number] = Node(step, to)
        return number

    def lead(self, edge: Edge, to: int) -> None:
        """Let an edge lead to a step."""
        if self.target(edge) == to:
            return
        self._touched(edge)
        if edge == START:
            self.root = to
        else:
            self.nodes[edge[0]].to[edge[1]] = to

    def alter(self, n: int, step: Step, to: list[int]) -> None:
        """Let a step be another one."""
        self._touched((n, 0))
        self.nodes[n] = Node(step, to)
        self._remembered.pop(n, None)

    def target(self, edge: Edge) -> int:
        """Where an edge leads."""
        return self.root if edge == START else self.nodes[edge[0]].to[edge[1]]

    def order(self) -> list[int]:
        """The steps that can be reached, each after all that lead to it."""
        seen: set[int] = set()
        found: list[int] = []

        def visit(n: int) -> None:
            seen.add(n)
            for t in self.nodes[n].to:
                if t != END and t not in seen:
                    visit(t)
            found.append(n)

        visit(self.root)
        return found[::-1]

    def drop_unreached(self) -> None:
        """Forget steps to which nothing leads any more."""
        kept = {*self.order(), HELP}
        for n in [n for n in self.nodes if n not in kept]:
            del self.nodes[n]
            self._values.pop(n, None)
            self._onward.pop(n, None)

    def copied(self) -> dict[int, Node]:
        """The steps as they are now, to go back to by ``restore``."""
        return {n: Node(node.step, list(node.to)) for n, node in self.nodes.items()}

    def restore(self, nodes: dict[int, Node], root: int) -> None:
        """Back to steps that were copied before."""
        self.nodes, self.root = {n: Node(node.step, list(node.to)) for n, node in nodes.items()}, root
        self._values, self._onward, self._remembered = {}, {}, {}

    def _touched(self, edge: Edge) -> None:
        """Before an edge is changed: what rests on it no longer holds."""
        if edge != START:
            bit = 1 << edge[0]
            for n in [n for n, then in self._onward.items() if then.nodes & bit]:
                del self._onward[n]
                self._values.pop(n, None)

    # -- what a step costs and is worth ----------------------------------------------------------------

    def cost(self, step: Step, standing: Standing) -> tuple[float, Standing] | None:
        """Minutes of cost of a step and what stands after it; None where its need cannot stand."""
        if step.kind == "help":
            return self.job.figures.help, standing
        key = (step, standing)
        if key not in self._costs:
            table = self.tables.at(standing, ())
            found = (table.checks if step.kind == "check" else table.actions)[step.place]
            self._costs[key] = None if found is None else (found.minutes, found.after)
        return self._costs[key]

    def value(self, n: int, standing: Standing) -> Floats:
        """What the rest of the job costs from a step on, for each row (n + 1,), with the memory that is usual there."""
        if n == HELP:
            return self._help
        known = self._values.setdefault(n, {})
        found = known.get(standing)
        if found is None:
            found = known[standing] = self._value(n, standing)
        return found

    def _value(self, n: int, standing: Standing) -> Floats:
        node, job = self.nodes[n], self.job
        cost = self.cost(node.step, standing)
        if cost is None:
            return np.full(len(job.weights), np.inf)
        minutes, after = cost
        if node.step.kind == "check":
            first, total = job.first[node.step.place], np.full(len(job.weights), minutes)
            for o, t in enumerate(node.to):
                total += job.shown[:, first + o] * self.value(t, after)
        else:
            a, failed = node.step.place, self.value(node.to[1], after)
            proved = job.proof_fails * failed + self.ends(after)
            effective = float(job.effective[a, 0])
            total = minutes + effective * proved[job.becomes[a]] + (1.0 - effective) * proved
        remembered = self._remembered.get(n)
        if remembered:
            total = total * (1.0 - np.sum(list(remembered.values()), axis=0))
            for o, share in remembered.items():
                total += share * self.value(node.to[o], standing)
        return total

    def ends(self, standing: Standing) -> Floats:
        """What a proof that passes costs by the row that then stands, times its chance, shape (n + 1,)."""
        job = self.job
        restoring = job.floor.restoring(standing)
        return np.asarray((1.0 - job.proof_fails) * (restoring + job.figures.comeback * job.stands))

    def worth(self, flow: Flow, to: int) -> float:
        """What the weights of a flow cost from a step on; infinite where it cannot be done from what stands."""
        total = 0.0
        for story, weights in flow.items():
            n = to
            while n != HELP and (shown := self.facts.recalled(self.nodes[n].step, story.known)) >= 0:
                n = self.nodes[n].to[shown]
            total += float(weights @ self.value(n, story.standing))
        return total if total == total else float("inf")

    def spent(self, step: Step, flow: Flow) -> float | None:
        """What a step itself costs for what comes along, and what ends there; None where it cannot be done."""
        job, total = self.job, 0.0
        for story, weights in flow.items():
            if self.facts.recalled(step, story.known) >= 0:
                continue
            cost = self.cost(step, story.standing)
            if cost is None:
                return None
            total += cost[0] * float(weights.sum())
            if step.kind == "act":
                a, ends, effective = step.place, self.ends(cost[1]), float(job.effective[step.place, 0])
                total += float(weights @ (effective * ends[job.becomes[a]] + (1.0 - effective) * ends))
        return total

    def whole(self) -> float:
        """What the job costs by this plan, with all that is remembered on the way."""
        arriving, _ = self.flows()
        return sum(self.spent(self.nodes[n].step, flow) or 0.0 for n, flow in arriving.items())

    # -- what comes along the ways ---------------------------------------------------------------------

    def flows(self) -> tuple[dict[int, Flow], dict[Edge, Flow]]:
        """Weights that arrive at each step, and along each edge."""
        arriving: dict[int, Flow] = {self.root: {UNTOUCHED: self.job.weights}}
        edges: dict[Edge, Flow] = {START: arriving[self.root]}
        for n in self.order():
            flow = arriving[n] = _put_together(arriving.get(n, {}))
            for o, leaves in self.leaving(self.nodes[n].step, flow):
                edges[n, o] = leaves
                t = self.nodes[n].to[o]
                if t != END:
                    into = arriving.setdefault(t, {})
                    for story, weights in leaves.items():
                        _pour(into, story, weights)
        return arriving, edges

    def looked_over(self) -> tuple[dict[int, Flow], dict[Edge, Flow]]:
        """The flows; what they remember at each step is what values reckon with from now on."""
        arriving, edges = self.flows()
        self._values, self._remembered = {}, {}
        for n, flow in arriving.items():
            shares: dict[int, Floats] = {}
            for story, weights in flow.items():
                shown = self.facts.recalled(self.nodes[n].step, story.known)
                if shown >= 0:
                    shares[shown] = shares[shown] + weights if shown in shares else weights
            if shares:
                whole = np.maximum(np.sum(list(flow.values()), axis=0), 1e-300)
                self._remembered[n] = {o: weights / whole for o, weights in shares.items()}
        return arriving, edges

    def leaving(self, step: Step, flow: Flow) -> Iterator[tuple[int, Flow]]:
        """What leaves a step by each outcome that leads on to another one; nothing where it cannot be done."""
        if step.kind == "help":
            return
        facts, job = self.facts, self.job
        many = 2 if step.kind == "act" else len(job.checks[step.place].outcomes)
        out: list[Flow] = [{} for _ in range(many)]
        for story, weights in flow.items():
            recalled = facts.recalled(step, story.known)
            if recalled >= 0:
                _pour(out[recalled], story, weights)
                continue
            cost = self.cost(step, story.standing)
            if cost is None:
                return
            if step.kind == "act":
                then = Story(cost[1], facts.known_after_repair(step.place, story.known))
                _pour(out[1], then, job.after_failed(step.place, weights))
                continue
            first = int(job.first[step.place])
            for o in range(many):
                part: Floats = weights * (job.shown[:, first + o] + UNFORESEEN)
                _pour(out[o], Story(cost[1], story.known | 1 << (first + o)), part)
        yield from ((o, leaves) for o, leaves in enumerate(out) if step.kind == "check" or o == 1)

    # -- safety rules ----------------------------------------------------------------------------------

    def behind(self) -> dict[int, Behind]:
        """What the ways to each step have done."""
        found: dict[int, Behind] = {self.root: Behind()}
        for n in self.order():
            for o, t in enumerate(self.nodes[n].to):
                if t != END:
                    one = self.facts.past(self.nodes[n].step, o, found[n])
                    found[t] = found[t].joined(one) if t in found else one
        return found

    def onward(self, n: int) -> Onward:
        """What a step and all after it do and want."""
        found = self._onward.get(n)
        if found is None:
            node = self.nodes[n]
            then = [None if t == END else self.onward(t) for t in node.to]
            found = self._onward[n] = self.facts.onward(node.step, then, n)
        return found

    def allowed(self, past: Behind, to: int) -> bool:
        """Whether a way with this behind it may lead to a step: nothing missing or barred from there on."""
        return self.facts.allowed(past, self.onward(to))

    def item(self, step: Step) -> Check | Action:
        """The check or action of a step."""
        return self.job.item(step.kind, step.place)


def _pour(into: Flow, story: Story, weights: Floats) -> None:
    into[story] = into[story] + weights if story in into else weights


def _put_together(flow: Flow) -> Flow:
    """The same with the light stories of each standing as one, that knows what all of them know."""
    if len(flow) < 2:
        return flow
    heavy = sorted(flow, key=lambda story: -float(flow[story].sum()))
    kept = {story for story in heavy[:MOST_STORIES] if float(flow[story].sum()) >= LIGHT}
    shared: dict[Standing, int] = {}
    for story in flow:
        if story not in kept:
            shared[story.standing] = shared.get(story.standing, -1) & story.known
    found: Flow = {}
    for story, weights in flow.items():
        _pour(found, story if story in kept else Story(story.standing, shared[story.standing]), weights)
    return found
