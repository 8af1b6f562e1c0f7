"""Steps put in where ways come together: what helps many of them a little is worth its lines, though none alone would.

``Gardener`` looks at one way at a time. Where ways have joined, as before the call for help, what is left to do differs
from one to the next, and a step that is put before the place at which they meet is taken by those of them that gain by
it. Each such step is tried on the whole, with all that is remembered, and taken back where that does not bear it out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from faulttree.workshop.flows import Flow, pour, put_together
from faulttree.workshop.graph import END, HELP, Edge
from faulttree.workshop.options import Option, heaviest
from faulttree.workshop.plan import Past, joined
from faulttree.workshop.planning import Gardener, Told, past_of
from faulttree.workshop.ways import Step

CLOSELY, LEAST = 6, 0.6
"""Steps that are weighed closely for a place; minutes of cost that one must save there, and half of it on the whole."""

LEAST_LOST = 4.0
"""Minutes of cost that ways into a place must lose, against knowing the cause, for it to be looked at."""


class Way(NamedTuple):
    """An edge into a place, what comes along it, what is behind that, and what that costs from the place on."""

    edge: Edge
    flow: Flow
    past: Past
    worth: float


class Grafter:
    """Puts steps into a plan that is grown."""

    def __init__(self, gardener: Gardener) -> None:
        self.gardener, self.plan, self.facts = gardener, gardener.plan, gardener.facts
        many = {"act": len(self.plan.job.actions), "check": len(self.plan.job.checks)}
        self._steps = [Step(kind, place) for kind in many for place in range(many[kind])]
        legged = {(kind, min(by_leg.values())) for (kind, _), by_leg in self.facts.of_leg.items()}
        self._steps += [Step(kind, place, legged=True) for kind, place in sorted(legged)]

    def graft(self, room: float, told: Told = lambda words: None) -> None:
        """Put steps in where ways come together, most is lost first, until they take so many lines."""
        plan, tried = self.plan, set[int]()
        plan.forgetful, plan.facts.ticked = False, True
        plan.drop_unreached()
        _, edges, worth = plan.looked_over()
        while self.gardener.room.taken() < room:
            place = self._most_lost(edges, tried)
            if place is None:
                break
            kept = plan.kept()
            if self._put_before(place, edges):
                plan.drop_unreached()
                _, found, now = plan.looked_over()
                if now < worth - LEAST / 2:
                    told(f"{len(plan.nodes)} steps")
                    worth, edges = now, found
                    continue
                plan.restore(*kept)
            tried.add(place)

    def _most_lost(self, edges: dict[Edge, Flow], tried: set[int]) -> int | None:
        """Help first, then the place into which most is lost; None where nothing much is lost any more."""
        lost: dict[int, float] = {}
        for edge, flow in edges.items():
            to = self.plan.target(edge)
            if to != END and to not in tried and flow:
                lost[to] = lost.get(to, 0.0) + self.plan.worth(flow, to) - self.gardener.floor(flow)
        if HELP in lost:
            return HELP
        place = max(lost, key=lambda n: (lost[n], n), default=HELP)
        return place if lost.get(place, 0.0) > LEAST_LOST else None

    def _put_before(self, place: int, edges: dict[Edge, Flow]) -> bool:
        """The step that saves most before a place, taken by the ways that gain by it; whether there is one."""
        plan, behind = self.plan, self.plan.behind()
        ways = [
            Way(edge, flow, past_of(plan, edge, behind), plan.worth(flow, place))
            for edge, flow in edges.items() if flow and plan.target(edge) == place
        ]  # fmt: skip
        later, unused = self._later(ways), plan.unused
        best, most = None, LEAST
        for step in self._promising(ways, later):
            option = self._option(step, ways, later)
            if option is not None:
                n = self.gardener.added(option)
                saved = sum(way.worth - plan.worth(way.flow, n) for way in self._gaining(n, ways))
                if saved > most:
                    best, most = option, saved
                plan.forget_from(unused)
        if best is None:
            return False
        n = self.gardener.added(best)
        for way in self._gaining(n, ways):
            plan.lead(way.edge, n)
        return True

    def _later(self, ways: list[Way]) -> list[int]:
        """Steps to which one before the place may lead without a ring."""
        sources = 0
        for n, _ in (way.edge for way in ways):
            sources |= 1 << n if n >= 0 else 0
        return [n for n in self.plan.order() if not self.plan.reach(n) & sources]

    def _promising(self, ways: list[Way], later: list[int]) -> list[Step]:
        """Steps by what they roughly save on all ways together."""
        saved = np.zeros(len(self._steps))
        for way in ways:
            story = heaviest(way.flow)
            if story.leg in way.past:
                rough = self.gardener.proposer.rough_costs(way.flow, story, way.past, later, self._steps)
                saved += np.maximum(way.worth - rough, 0.0)
        order = np.argsort(-saved, kind="stable")[:CLOSELY].tolist()
        return [self._steps[place] for place in order if saved[place] > LEAST]

    def _option(self, step: Step, ways: list[Way], later: list[int]) -> Option | None:
        """The step with the ways on that are best for all that may take it together; None where none may."""
        flow: Flow = {}
        past: Past = {}
        for way in (way for way in ways if self.plan.may_stand(step, way.past)):
            for story, weights in way.flow.items():
                pour(flow, story, weights)
            joined(past, way.past)
        if not flow:
            return None
        return self.gardener.options.one(step, put_together(flow), past, later, further=True)

    def _gaining(self, n: int, ways: list[Way]) -> list[Way]:
        plan = self.plan
        able = (way for way in ways if plan.allowed(way.past, n))
        return [way for way in able if plan.worth(way.flow, n, way.worth) < way.worth - 1e-9]
