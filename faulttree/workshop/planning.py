"""How a plan of numbered steps comes about: it grows where it loses most, and the least useful steps are taken out.

It begins with repairs one by one and help at their end. Again and again the edge that loses most, against knowing the
cause, gets the step that the advice's rule would take there; edges are led to whichever later step is best for what
comes along them, so that ways join. Grown well beyond its size it is cut back to it step by step.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.advice.choice import Choice, State, Step
from faulttree.belief.likelihood import Floats
from faulttree.workshop.plan import END, HELP, START, Behind, Edge, Flow, Plan

GROWN = 140
"""So many steps a plan grows by before it is cut back to its size."""

OFTEN = 6
"""Steps grown between two times at which all edges are led anew."""

LEAST_GAIN = 0.02
"""Minutes of cost that an edge must lose to be looked at."""

LEAST_CHANCE, LIKELY_ENOUGH = 0.002, 0.15
"""Chance from which a repair is tried at all, and after a check that speaks for it."""

UNFORESEEN = 1e-6
"""What an outcome that cannot be is taken to tell: nothing, with this weight."""

Told = Callable[[str], None]


def grown(round_: Round, size: int, told: Told = lambda words: None) -> Plan:
    """A plan of at most ``size`` steps, help included."""
    plan = Plan(round_)
    gardener = Gardener(plan)
    gardener.seed()
    begun = len(plan.nodes)
    gardener.grow(begun + GROWN, told)
    gardener.cut_back(size, told)
    return plan


class Gardener:
    """Grows one plan and cuts it back."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.play = plan, plan.job, plan.round.play

    # -- growing ---------------------------------------------------------------------------------------

    def seed(self) -> None:
        """Repairs one by one by falling chance per minute, each shown to be wanted where it has to be, then help."""
        plan, facts = self.plan, self.plan.facts
        choice = self.play.choice(plan.round.state)
        worth = np.where(choice.helps > LEAST_CHANCE, choice.helps / np.maximum(choice.act_minutes, 1.0), 0.0)
        order = [a for a in np.argsort(-worth, kind="stable").tolist() if worth[a] > 0]
        groups: dict[int, list[int]] = {}
        for a in order:
            shows = min(facts.to_show[a], key=lambda c: (choice.table.check_minutes[c], c), default=~a)
            groups.setdefault(shows, []).append(a)
        following = HELP
        for shows, acts in reversed(groups.items()):
            for a in reversed(acts):
                following = plan.add(Step("act", a), [END, following]) if shows < 0 else following
            if shows >= 0:
                following = self._shown_and_tried(shows, acts, following)
        plan.lead(START, following)
        plan.changed()
        self.lead_anew()

    def _shown_and_tried(self, c: int, acts: list[int], following: int) -> int:
        """A check, with what has to come before it, then the repair that fits what it shows; else what follows."""
        plan = self.plan
        tried = [plan.add(Step("act", a), [END, following]) for a in acts]
        shown = self.job.shown[:, self.job.first[c] : self.job.first[c + 1]] * self.job.weights[:, None]
        to = []
        for o in range(shown.shape[1]):
            chances = self.job.cures[acts] @ shown[:, o] / max(float(shown[:, o].sum()), 1e-12)
            best = int(chances.argmax())
            to.append(tried[best] if chances[best] > LIKELY_ENOUGH else following)
        number = plan.add(Step("check", c), to)
        before = [b for b in sorted(self._all_before(c)) if b != c]
        for b in reversed(before):
            number = plan.add(Step("check", b), [number] * len(self.job.checks[b].outcomes))
        return number

    def _all_before(self, c: int) -> set[int]:
        found: set[int] = set()
        for b in self.plan.facts.after[c]:
            found |= {b} | self._all_before(b)
        return found

    def grow(self, size: int, told: Told = lambda words: None) -> None:
        """Add steps where most is lost, up to so many; an edge that has a better step already is led there."""
        plan, tried = self.plan, set[Edge]()
        while len(plan.nodes) < size:
            _, edges = plan.flows()
            open_edges = [edge for edge in self._by_loss(edges) if edge not in tried]
            if not open_edges:
                break
            edge, behind = open_edges[0], plan.behind()
            tried.add(edge)
            self._lead_better(edge, edges[edge], behind)
            self._new(edge, edges[edge], behind)
            if len(plan.nodes) % OFTEN == 0:
                told(f"{len(plan.nodes)} steps")
        self.lead_anew()

    def _lead_better(self, edge: Edge, flow: Flow, behind: dict[int, Behind]) -> None:
        """Lead one edge to the step that is best for it."""
        plan = self.plan
        order = plan.order()
        among = [n for n in order if self._is_later(n, edge, order)]
        past = Behind() if edge == START else plan.past(edge[0], edge[1], behind[edge[0]])
        best = self._best(flow, past, [plan.target(edge), *among, HELP])
        plan.touched(edge)
        plan.lead(edge, best)

    def _by_loss(self, edges: dict[Edge, Flow]) -> list[Edge]:
        lost = {}
        for edge, flow in edges.items():
            to = self.plan.target(edge)
            if to != END:
                floor = sum(float(self.job.sums(w) @ self.job.floors(s)) for s, w in flow.items())
                lost[edge] = self.plan.worth(flow, to) - floor
        return sorted((e for e in lost if lost[e] > LEAST_GAIN), key=lambda e: (-lost[e], e))

    def _new(self, edge: Edge, flow: Flow, behind: dict[int, Behind]) -> int | None:
        """A step put into an edge, where there is one to be had that costs no more."""
        plan = self.plan
        past = Behind() if edge == START else plan.past(edge[0], edge[1], behind[edge[0]])
        step = self._step(flow, past)
        if step is None:
            return None
        to = self._ways_on(step, flow, past, edge)
        if to is None:
            return None
        plan.touched(edge)
        number = plan.add(step, to)
        plan.lead(edge, number)
        return number

    def _step(self, flow: Flow, past: Behind) -> Step | None:
        """What the rule would do with what comes along an edge; None where it would call for help, or cannot go on."""
        standing = max(flow, key=lambda s: (float(flow[s].sum()), sorted(s)))
        weights = np.sum(list(flow.values()), axis=0)
        total = float(weights.sum())
        if total <= 0:
            return None
        ever = frozenset(c for c in past.sure if c >= 0)
        choice = self._open(self.play.choice(State(weights / total, standing, (), ever, ever)), past)
        step = choice.step
        if step.kind == "help":
            step = self._lifting(past)
            if step.kind == "help":
                return None
        return self._first(step, past, choice)

    def _open(self, choice: Choice, past: Behind) -> Choice:
        """The rule's view with what was tried, or is barred by what was found, left out."""
        facts = self.plan.facts
        out = {c for c, against in enumerate(facts.checks_barred) if not past.barring.isdisjoint(against)}
        checks = np.ones(len(self.job.checks), dtype=np.bool_)
        checks[sorted(out)] = False
        out = {a for a, against in enumerate(facts.actions_barred) if not past.barring.isdisjoint(against)}
        acts = np.ones(len(self.job.actions), dtype=np.bool_)
        acts[sorted(out | past.acted)] = False
        return choice if checks.all() and acts.all() else self.play.rule.only(choice, checks, acts)

    def _lifting(self, past: Behind) -> Step:
        """A check that can lift what bars the way; help where there is none."""
        facts = self.plan.facts
        for finding in sorted(past.barring):
            for c in sorted(facts.lifts[finding] or {finding[0]}):
                step = Step("check", c)
                if past.barring.isdisjoint(facts.barred(step)):
                    return step
        return Step("help")

    def _first(self, step: Step, past: Behind, choice: Choice) -> Step | None:
        """The step itself, or what has to come before it."""
        facts = self.plan.facts
        if step.kind == "act" and not facts.wants(step) <= past.sure:
            # Done on some ways only: whoever did it already takes what it showed.
            able = facts.to_show[step.place]
            step = Step("check", min(able, key=lambda c: (c in past.done, choice.table.check_minutes[c], c)))
        while step.kind == "check" and not facts.after[step.place] <= past.sure:
            step = Step("check", min(facts.after[step.place] - past.sure))
        return step if past.barring.isdisjoint(facts.barred(step)) else None

    # -- leading edges ---------------------------------------------------------------------------------

    def _ways_on(self, step: Step, flow: Flow, past: Behind, edge: Edge) -> list[int] | None:
        """The best later step for each outcome of a new step; None where there is none."""
        plan = self.plan
        old = plan.target(edge)
        order = plan.order()
        later = [n for n in order if n in plan.onward(old).nodes or self._is_later(n, edge, order)]
        to: list[int] = []
        for o in range(2 if step.kind == "act" else len(plan.job.checks[step.place].outcomes)):
            if step.kind == "act" and o == 0:
                to.append(END)
                continue
            leaves = self._after(step, o, flow)
            if leaves is None:
                return None
            to.append(self._best(leaves, plan.past_step(step, o, past), [*later, HELP]))
        return to

    def _is_later(self, n: int, edge: Edge, order: list[int]) -> bool:
        if edge == START:
            return True
        return n != edge[0] and edge[0] not in self.plan.onward(n).nodes

    def _after(self, step: Step, o: int, flow: Flow) -> Flow | None:
        leaves: Flow = {}
        for standing, weights in flow.items():
            cost = self.plan.cost(step, standing)
            if cost is None:
                return None
            if step.kind == "check":
                part: Floats = weights * (self.job.shown[:, self.job.first[step.place] + o] + UNFORESEEN)
            else:
                part = self.job.after_failed(step.place, weights)
            leaves[cost[1]] = leaves[cost[1]] + part if cost[1] in leaves else part
        return leaves

    def _best(self, flow: Flow, past: Behind, among: list[int]) -> int:
        allowed = [n for n in dict.fromkeys(among) if self.plan.allowed(past, n)]
        return min(allowed, key=lambda n: (self.plan.worth(flow, n), n), default=HELP)

    def lead_anew(self) -> None:
        """Every edge to the later step that is best for what comes along it, from the last step to the first."""
        plan = self.plan
        plan.drop_unreached()
        plan.changed()
        arriving, _ = plan.flows()
        behind, order = plan.behind(), plan.order()
        for place in range(len(order) - 1, -1, -1):
            n = order[place]
            node = plan.nodes[n]
            later = [*order[place + 1 :], HELP]
            for o, t in enumerate(node.to):
                if t != END:
                    leaves = self._after(node.step, o, arriving[n])
                    assert leaves is not None
                    node.to[o] = self._best(leaves, plan.past(n, o, behind[n]), later)
            plan.forget(n)
        plan.drop_unreached()
        plan.changed()

    # -- cutting back ----------------------------------------------------------------------------------

    def cut_back(self, size: int, told: Told = lambda words: None) -> None:
        """Take out the least useful steps until there are no more than so many."""
        plan = self.plan
        plan.drop_unreached()
        while len(plan.nodes) > size:
            many = max((len(plan.nodes) - size) // 3, 1)
            for n in self._least_useful()[:many]:
                if n in plan.nodes:
                    self._take_out(n)
            self.lead_anew()
            told(f"{len(plan.nodes)} steps")

    def _least_useful(self) -> list[int]:
        plan = self.plan
        _, edges = plan.flows()
        behind = plan.behind()
        loss = dict.fromkeys((n for n in plan.order() if n != HELP), 0.0)
        for edge, flow in edges.items():
            to = plan.target(edge)
            if to in loss:
                loss[to] += self._loss(edge, flow, behind, to)
        return sorted(loss, key=lambda n: (loss[n], n))

    def _loss(self, edge: Edge, flow: Flow, behind: dict[int, Behind], to: int) -> float:
        plan = self.plan
        best = self._instead(edge, flow, behind, to)
        return plan.worth(flow, best) - plan.worth(flow, to)

    def _instead(self, edge: Edge, flow: Flow, behind: dict[int, Behind], without: int) -> int:
        plan = self.plan
        past = Behind() if edge == START else plan.past(edge[0], edge[1], behind[edge[0]])
        order = plan.order()
        among = [
            n for n in order if without not in plan.onward(n).nodes and self._is_later(n, edge, order)
        ]
        return self._best(flow, past, [*among, HELP])

    def _take_out(self, n: int) -> None:
        plan = self.plan
        _, edges = plan.flows()
        behind = plan.behind()
        for edge, flow in edges.items():
            if plan.target(edge) == n:
                instead = self._instead(edge, flow, behind, n)
                plan.touched(edge)
                plan.lead(edge, instead)
                behind = plan.behind()
        plan.drop_unreached()
        plan.changed()
