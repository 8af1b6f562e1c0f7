"""What comes along all ways of a plan, from the first step to the last, kept for what did not change since.

A plan is tried with one change after another, and most of what comes along its ways is the same each time: before a
change, and where ways of their own go on beside it. What leaves a step follows from the step and what comes to it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from faulttree.belief.likelihood import Floats
from faulttree.workshop.flows import UNTOUCHED, Flow, pour, put_together
from faulttree.workshop.graph import END, HELP, START, Edge
from faulttree.workshop.ways import Step

if TYPE_CHECKING:
    from faulttree.workshop.plan import Plan

VERSIONS = 4
"""So many times at most is kept for one step what came to it and left it: as it was, and as it was tried."""

STALE = 1.5
"""What is kept of steps that are gone is let go of once so many times as many are kept as there are: on a large chart
that were gigabytes."""


class Part(NamedTuple):
    """What comes along one edge into a step; ``against`` by story the findings that stop it before that.

    ``stopped``: the part of it that is stopped, and so comes to the call for help.
    """

    flow: Flow
    against: tuple[int, ...] = ()
    stopped: bool = False


@dataclass(slots=True)
class Poured:
    """What came to a step by these parts, and what left it by outcome; the rest is worked out when it is wanted."""

    parts: Iterable[Part]
    flow: Flow
    leaves: list[tuple[int, Flow]]
    spent: float | None = None
    remembered: dict[int, Floats] | None = None


class Pouring:
    """The ways of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.facts = plan, plan.facts
        self._known: dict[int, dict[object, Poured]] = {}
        self._whole: Flow = {UNTOUCHED: plan.job.weights}

    def poured(self, finely: bool = False) -> dict[int, Poured]:
        """What comes to each step and leaves it, by its number."""
        plan, found = self.plan, dict[int, Poured]()
        coming: dict[int, list[Part]] = {plan.root: [Part(self._whole)], HELP: []}
        for n in (n for n in plan.order() if n != HELP):
            one = found[n] = self._at(n, coming[n], finely)
            for o, leaves in one.leaves:
                to = plan.nodes[n].to[o]
                if to != END:
                    against = self._against(leaves, to)
                    coming.setdefault(to, []).append(Part(leaves, against))
                    if against:
                        coming[HELP].append(Part(leaves, against, stopped=True))
        if coming[HELP] or plan.root == HELP:
            found[HELP] = self._at(HELP, coming[HELP] or [Part(self._whole)], finely)
        if len(self._known) > STALE * len(found):
            self._known = {n: versions for n, versions in self._known.items() if n in found}
        return found

    def edges(self, poured: dict[int, Poured]) -> dict[Edge, Flow]:
        """What comes along each edge."""
        return {START: self._whole} | {(n, o): leaves for n, one in poured.items() for o, leaves in one.leaves}

    def _at(self, n: int, parts: list[Part], finely: bool) -> Poured:
        plan = self.plan
        step, versions = plan.nodes[n].step, self._known.setdefault(n, {})
        mode = (plan.forgetful, plan.facts.ticked, finely)
        key = (step, mode, tuple((id(part.flow), part.against, part.stopped) for part in parts))
        one = versions.pop(key, None)
        if one is None:
            flow = put_together(self._joined(parts), plan.forgetful, finely)
            one = Poured(parts, flow, list(plan.leaving(step, flow)))
        versions[key] = one
        if len(versions) > VERSIONS:
            del versions[next(iter(versions))]
        return one

    def _against(self, leaves: Flow, to: int) -> tuple[int, ...]:
        against = tuple(self.plan.stops(story.failed, to, story.leg) for story in leaves)
        return against if any(against) else ()

    def _joined(self, parts: Iterable[Part]) -> Flow:
        into: Flow = {}
        for flow, against, stopped in parts:
            for place, (story, weights) in enumerate(flow.items()):
                findings = against[place] if against else 0
                if findings:
                    chance = self.plan.shown_any(findings)
                    weights = weights * (chance if stopped else 1.0 - chance)
                if findings or not stopped:
                    pour(into, story._replace(failed=-1), weights)
        return into

    def spent(self, poured: dict[int, Poured]) -> float:
        """What the whole costs by what comes to each step."""
        for n, one in poured.items():
            if one.spent is None:
                one.spent = self.plan.spent(self.plan.nodes[n].step, one.flow) or 0.0
        return sum(one.spent or 0.0 for one in poured.values())

    def remembered(self, poured: dict[int, Poured]) -> dict[int, dict[int, Floats]]:
        """The share of each row that has done a step before it comes to it, by what that led to; by step."""
        for n, one in poured.items():
            if one.remembered is None:
                one.remembered = self._met(self.plan.nodes[n].step, one.flow)
        return {n: one.remembered for n, one in poured.items() if one.remembered}

    def _met(self, step: Step, flow: Flow) -> dict[int, Floats]:
        shares: dict[int, Floats] = {}
        for story, weights in flow.items():
            done = self.facts.on(step, story.leg)
            for shown, part in self.plan.met(done, story, weights)[0].items() if done is not None else ():
                shares[shown] = shares[shown] + part if shown in shares else part
        if not shares:
            return {}
        whole = np.maximum(np.sum(list(flow.values()), axis=0), 1e-300)
        return {o: weights / whole for o, weights in shares.items()}
