"""A plan of numbered steps that needs no memory: each step leads on to a later one by what it showed.

The steps form a graph without rings. What a step is worth is one number for each row of the job (what it would cost
from there if that row were the truth), so that the worth of a step to any belief is a product of two vectors: a finite
controller of a partly seen process (Hansen, "Solving POMDPs by searching in policy space", UAI 1998), here without
rings. What the steps before one may have shown is kept as sets: what was surely done, what may have been done, what may
bar a condition. An edge to a later step is allowed where these suit everything from there on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.advice.choice import Step
from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Check

END, HELP = -1, 0
"""Where a passed proof leads, and the number of the step that calls for help."""

Edge = tuple[int, int]
Finding = tuple[int, int]
"""A check by its place in the job and the outcome that it showed, where that bars conditions."""

Flow = dict[Standing, Floats]
"""Weights of the rows (n + 1,) that come along a way, by what stands then; not normalised."""

START: Edge = (-1, 0)


@dataclass
class Node:
    """A step and where it leads: by outcome for a check; for a repair to the end and, the proof failed, elsewhere."""

    step: Step
    to: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Behind:
    """What the ways to a step have in common, or may have.

    ``done`` checks and ``acted`` actions by place on any way; ``sure`` what every way has done: checks and, as
    ``~a``, that action a was shown to be wanted; ``barring`` findings that may stand.
    """

    done: frozenset[int] = frozenset()
    acted: frozenset[int] = frozenset()
    sure: frozenset[int] = frozenset()
    barring: frozenset[Finding] = frozenset()

    def joined(self, other: Behind) -> Behind:
        """Two ways that come together."""
        return Behind(
            self.done | other.done, self.acted | other.acted, self.sure & other.sure, self.barring | other.barring
        )


@dataclass(frozen=True)
class Onward:
    """What a step and all after it do and want: checks done, what must be sure before, findings that must not stand."""

    checks: frozenset[int] = frozenset()
    wants: frozenset[int] = frozenset()
    refuses: frozenset[Finding] = frozenset()
    nodes: frozenset[int] = frozenset()


class Facts:
    """What the book says of the checks and actions of one job, by their places."""

    def __init__(self, round_: Round) -> None:
        self.job, moves = round_.job, round_.advisor.moves
        place = {check.id: c for c, check in enumerate(self.job.checks)}
        book = round_.book
        self.after = [frozenset(place[n] for n in c.after if n in place) for c in self.job.checks]
        self.shows: list[frozenset[int]] = [frozenset() for _ in self.job.checks]
        self.to_show = [frozenset(place[n] for n in a.after_any if n in place) for a in self.job.actions]
        for a, checks in enumerate(self.to_show):
            for c in checks:
                self.shows[c] |= {a}
        self.bars: dict[Finding, frozenset[str]] = {}
        self.lifts: dict[Finding, frozenset[int]] = {}
        for c, check in enumerate(self.job.checks):
            for o, outcome in enumerate(check.outcomes):
                if outcome.bars:
                    self.bars[c, o] = frozenset(outcome.bars)
                    self.lifts[c, o] = frozenset(place[n] for n in outcome.until if n in place)
        self.checks_barred = [self._speak_against(moves.closure(c.needs)) for c in self.job.checks]
        self.actions_barred = [self._speak_against(moves.closure(a.needs)) for a in self.job.actions]
        self.proof_needs = [
            [moves.closure(book.checks[n].needs) for n in self.job.floor.due_after([a.id])] for a in self.job.actions
        ]

    def barred(self, step: Step) -> frozenset[Finding]:
        """Findings that speak against a step."""
        return (self.checks_barred if step.kind == "check" else self.actions_barred)[step.place]

    def _speak_against(self, needs: frozenset[str]) -> frozenset[Finding]:
        return frozenset(finding for finding, bars in self.bars.items() if not needs.isdisjoint(bars))

    def lifted_by_proving(self, a: int) -> frozenset[Finding]:
        """Findings that have to be looked at again before a repair can be proved."""
        needs = self.proof_needs[a]
        return frozenset(f for f, bars in self.bars.items() if any(not need.isdisjoint(bars) for need in needs))

    def remains(self, finding: Finding, c: int, o: int) -> bool:
        """Whether a finding still bars once check c showed outcome o."""
        if c != finding[0] and c not in self.lifts[finding]:
            return True
        return not self.bars[finding].isdisjoint(self.bars.get((c, o), frozenset())) and c != finding[0]

    def gives(self, c: int) -> frozenset[int]:
        """What is sure once a check was done."""
        return frozenset([c]) | frozenset(~a for a in self.shows[c])

    def wants(self, step: Step) -> frozenset[int]:
        """What has to be sure before a step."""
        if step.kind == "check":
            return self.after[step.place]
        return frozenset([~step.place]) if step.kind == "act" and self.to_show[step.place] else frozenset()


class Plan:
    """Steps by number; ``root`` is the first. Step 0 calls for help. Values in minutes of cost."""

    def __init__(self, round_: Round) -> None:
        self.round, self.job, self.tables = round_, round_.job, round_.play.rule.tables
        self.facts = Facts(round_)
        self.nodes: dict[int, Node] = {HELP: Node(Step("help"))}
        self.root = HELP
        self._next = 1
        self._values: dict[tuple[int, Standing], Floats] = {}
        self._onward: dict[int, Onward] = {}

    # -- the graph -------------------------------------------------------------------------------------

    def add(self, step: Step, to: list[int]) -> int:
        """A new step; its number."""
        number, self._next = self._next, self._next + 1
        self.nodes[number] = Node(step, to)
        return number

    def lead(self, edge: Edge, to: int) -> None:
        """Let an edge lead to a step."""
        if edge == START:
            self.root = to
        else:
            self.nodes[edge[0]].to[edge[1]] = to

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
        self.nodes = {n: node for n, node in self.nodes.items() if n in kept}

    def changed(self) -> None:
        """To be called when edges were changed: what was worked out no longer holds."""
        self._values, self._onward = {}, {}

    def touched(self, edge: Edge) -> None:
        """To be called before an edge is changed: what rests on it no longer holds."""
        if edge != START:
            stale = {n for n in self.nodes if edge[0] in self.onward(n).nodes}
            self._onward = {n: known for n, known in self._onward.items() if n not in stale}
            self._values = {key: value for key, value in self._values.items() if key[0] not in stale}

    def forget(self, n: int) -> None:
        """What was worked out for one step no longer holds."""
        self._onward.pop(n, None)
        for key in [key for key in self._values if key[0] == n]:
            del self._values[key]

    # -- what a step costs and is worth ----------------------------------------------------------------

    def cost(self, step: Step, standing: Standing) -> tuple[float, Standing] | None:
        """Minutes of cost of a step and what stands after it; None where its need cannot stand."""
        if step.kind == "help":
            return self.job.figures.help, standing
        table = self.tables.at(standing, ())
        found = (table.checks if step.kind == "check" else table.actions)[step.place]
        return None if found is None else (found.minutes, found.after)

    def value(self, n: int, standing: Standing) -> Floats:
        """What the rest of the job costs from a step on, for each row (n + 1,)."""
        key = (n, standing)
        found = self._values.get(key)
        if found is None:
            node = self.nodes[n]
            found = self._values[key] = self.step_value(node.step, node.to, standing)
        return found

    def step_value(self, step: Step, to: list[int], standing: Standing) -> Floats:
        """The same for a step that leads to these."""
        job, cost = self.job, self.cost(step, standing)
        if cost is None:
            return np.full(len(job.weights), np.inf)
        minutes, after = cost
        if step.kind == "help":
            return np.full(len(job.weights), minutes)
        if step.kind == "check":
            first = job.first[step.place]
            parts = [job.shown[:, first + o] * self.value(t, after) for o, t in enumerate(to)]
            return np.asarray(minutes + np.sum(parts, axis=0))
        a, failed = step.place, self.value(to[1], after)
        ends = job.floor.restoring(after) + job.figures.comeback * job.stands
        proved = job.proof_fails * failed + (1.0 - job.proof_fails) * ends
        effective = float(job.effective[a, 0])
        return np.asarray(minutes + effective * proved[job.becomes[a]] + (1.0 - effective) * proved)

    # -- what comes along the ways ---------------------------------------------------------------------

    def flows(self) -> tuple[dict[int, Flow], dict[Edge, Flow]]:
        """Weights that arrive at each step, and along each edge."""
        arriving: dict[int, Flow] = {self.root: {frozenset(): self.job.weights}}
        edges: dict[Edge, Flow] = {START: arriving[self.root]}
        for n in self.order():
            for edge, t, flow in self._leaving(n, arriving.get(n, {})):
                edges[edge] = flow
                if t != END:
                    _pour(arriving.setdefault(t, {}), flow)
        return arriving, edges

    def _leaving(self, n: int, flow: Flow) -> Iterator[tuple[Edge, int, Flow]]:
        node, job = self.nodes[n], self.job
        for o, t in enumerate(node.to):
            leaves: Flow = {}
            for standing, weights in flow.items():
                cost = self.cost(node.step, standing)
                assert cost is not None
                if node.step.kind == "check":
                    part = weights * job.shown[:, job.first[node.step.place] + o]
                elif o == 1:
                    part = job.after_failed(node.step.place, weights)
                else:
                    part = np.zeros(len(weights))
                _pour(leaves, {cost[1]: part})
            yield (n, o), t, leaves

    def behind(self) -> dict[int, Behind]:
        """What the ways to each step have done."""
        found: dict[int, Behind] = {self.root: Behind()}
        for n in self.order():
            for o, t in enumerate(self.nodes[n].to):
                if t != END:
                    one = self.past(n, o, found[n])
                    found[t] = found[t].joined(one) if t in found else one
        return found

    def past(self, n: int, o: int, before: Behind) -> Behind:
        """What was done once a step showed an outcome."""
        step = self.nodes[n].step
        return self.past_step(step, o, before)

    def past_step(self, step: Step, o: int, before: Behind) -> Behind:
        """The same for a step that need not stand in the plan."""
        if step.kind == "act":
            barring = before.barring - self.facts.lifted_by_proving(step.place)
            return Behind(before.done, before.acted | {step.place}, before.sure, barring)
        c, facts = step.place, self.facts
        barring = frozenset(f for f in before.barring if facts.remains(f, c, o))
        if (c, o) in facts.bars:
            barring |= {(c, o)}
        return Behind(before.done | {c}, before.acted, before.sure | facts.gives(c), barring)

    def onward(self, n: int) -> Onward:
        """What a step and all after it do and want."""
        found = self._onward.get(n)
        if found is None:
            node = self.nodes[n]
            found = self._onward[n] = self.step_onward(node.step, node.to, n)
        return found

    def step_onward(self, step: Step, to: list[int], n: int) -> Onward:
        """The same for a step that leads to these."""
        if step.kind == "help":
            return Onward(nodes=frozenset([n]))
        facts, gives = self.facts, frozenset[int]()
        checks, wants, refuses, nodes = frozenset[int](), frozenset[int](), facts.barred(step), frozenset([n])
        if step.kind == "check":
            checks, gives = frozenset([step.place]), facts.gives(step.place)
        for o, t in enumerate(to):
            if t == END:
                continue
            then = self.onward(t)
            checks, wants, nodes = checks | then.checks, wants | then.wants, nodes | then.nodes
            if step.kind == "check":
                refuses |= {f for f in then.refuses if facts.remains(f, step.place, o)}
            else:
                refuses |= then.refuses - facts.lifted_by_proving(step.place)
        return Onward(checks, (wants - gives) | facts.wants(step), refuses, nodes)

    def allowed(self, past: Behind, to: int) -> bool:
        """Whether a way with this behind it may lead to a step: nothing missing or barred from there on.

        Nor to a check that was done on every way: its answer is known.
        """
        then, step = self.onward(to), self.nodes[to].step
        if step.kind == "check" and step.place in past.sure:
            return False
        return then.wants <= past.sure and past.barring.isdisjoint(then.refuses)

    def worth(self, flow: Flow, to: int) -> float:
        """What the weights of a flow cost from a step on; infinite where it cannot be done from what stands."""
        total = 0.0
        for standing, weights in flow.items():
            values = self.value(to, standing)
            if not np.isfinite(values[0]):
                return float("inf")
            total += float(weights @ values)
        return total

    def item(self, step: Step) -> Check | Action:
        """The check or action of a step."""
        return self.job.item(step.kind, step.place)


def _pour(into: Flow, flow: Mapping[Standing, Floats]) -> None:
    for standing, weights in flow.items():
        into[standing] = into[standing] + weights if standing in into else weights
