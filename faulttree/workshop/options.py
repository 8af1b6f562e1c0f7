"""What could stand in a place of a plan: a step with the best ways on, or a repair with what has to come before it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.workshop.flows import Flow, Story, together
from faulttree.workshop.graph import END, HELP
from faulttree.workshop.plan import Past, Plan
from faulttree.workshop.proposing import Proposer
from faulttree.workshop.ways import Step

CLOSELY = 5
"""So many of the later steps that look best for what comes along are weighed with all that is remembered."""

LEAST_GAIN = 0.05
"""Minutes of cost that an edge must lose to be looked at, and a step must save."""

PREPARED, LONGEST, MOST = 2, 8, 100
"""Repairs that are prepared for in a place where they may not be tried yet; steps before one at most, and steps weighed
for it in all: what a check shows on the way parts it again and again."""

PAYS = 0.5
"""A way to a repair goes on where what it would save at once is at least so much of its own minutes. Less than all of
them, since a check before it may yet tell where it saves more."""


@dataclass(frozen=True)
class Option:
    """A step that could stand in a place: what comes along costs so much by it if it leads to these.

    Where it leads to an option that would have to be put in too.
    """

    worth: float
    step: Step
    to: tuple[int | Option, ...]


Onto = Callable[[Flow, Past, float], Option | None]
"""What more could be put in for what leaves a step, given what is behind it then and what it costs as it is."""


class Options:
    """Options for the places of one plan."""

    def __init__(self, plan: Plan, proposer: Proposer) -> None:
        self.plan, self.facts, self.proposer = plan, plan.facts, proposer

    def of(
        self, steps: Sequence[Step], flow: Flow, past: Past, later: Sequence[int], further: bool = False
    ) -> Iterator[Option]:
        """The steps with the best ways on; one of the leg that was noted as one for whichever leg was, if it can be.

        ``further``: a check may lead to a repair that is not there yet.
        """

        leg = heaviest(flow).leg
        for step in dict.fromkeys(steps):
            any_leg = self.facts.for_any_leg(step, leg) if leg else None
            option = None if any_leg is None else self.one(any_leg, flow, past, later, further)
            option = option or self.one(step, flow, past, later, further)
            if option is not None:
                yield option

    def one(self, step: Step, flow: Flow, past: Past, later: Sequence[int], further: bool = False) -> Option | None:
        """A step with the best ways on; None where it may not stand here."""

        def onto(leaves: Flow, then: Past, worth: float) -> Option | None:
            return self._repair(leaves, then, later)

        return self._option(step, flow, past, later, onto if further and step.kind != "act" else None)

    def _option(
        self, step: Step, flow: Flow, past: Past, later: Sequence[int], onto: Onto | None = None
    ) -> Option | None:
        """A step with the best later step, or more, for each of its outcomes; None where it may not stand here."""
        if not self.plan.may_stand(step, past):
            return None
        spent = self.plan.spent(step, flow)
        if spent is None:
            return None
        to: list[int | Option] = [END] if step.kind == "act" else []
        for o, leaves in self.plan.leaving(step, flow):
            then = self.plan.past(step, o, past)
            worth, best = self.best(leaves, then, later)
            more = onto(leaves, then, worth) if onto is not None and leaves else None
            better = more is not None and more.worth < worth - LEAST_GAIN
            spent += more.worth if more and better else worth
            to.append(more if more and better else best)
        return Option(spent, step, tuple(to))

    def _repair(self, flow: Flow, past: Past, later: Sequence[int]) -> Option | None:
        """The best repair that could be put in for what comes along; None where none may stand here."""
        wanted = self.proposer.repairs(flow, heaviest(flow), past)
        return min(self.of(wanted, flow, past, later), key=lambda o: (o.worth, o.step), default=None)

    def best(self, flow: Flow, past: Past, among: Sequence[int]) -> tuple[float, int]:
        """The later step that is best for what comes along, and what it costs by that."""
        plan = self.plan
        if not flow:
            return 0.0, HELP
        worth, best = plan.worth(flow, HELP), HELP
        steps, looked_at = [n for n in among if n != HELP], 0
        rough = plan.roughly(flow, steps) if steps else np.zeros(0)
        for place in np.argsort(rough, kind="stable").tolist():
            if looked_at == CLOSELY or rough[place] == np.inf:
                break
            if plan.allowed(past, steps[place]):
                looked_at += 1
                total = plan.worth(flow, steps[place], worth)
                if total < worth - 1e-9:
                    worth, best = total, steps[place]
        return worth, best

    # -- repairs that may not be tried yet -------------------------------------------------------------

    def prepared(self, flow: Flow, past: Past, later: Sequence[int]) -> Iterator[Option]:
        """Ways to the likeliest repairs that may not be tried yet: what speaks against them looked up, what is missing.

        Each step of such a way by itself saves nothing, so that it would not be put in.
        """
        for a in self.proposer.likely_but_barred(flow, past, PREPARED):
            option = self._towards(a, flow, past, later, (), iter(range(MOST)))
            if option is not None:
                yield option

    def _towards(
        self, a: int, flow: Flow, past: Past, later: Sequence[int], before: tuple[Step, ...], left: Iterator[int]
    ) -> Option | None:
        step = self._next_towards(a, past)
        if step is None or step in before or len(before) == LONGEST or next(left, None) is None:
            return None

        def onto(leaves: Flow, then: Past, worth: float) -> Option | None:
            if not self._may_pay(a, leaves, worth):
                return None
            return self._towards(a, leaves, then, later, (*before, step), left)

        return self._option(step, flow, past, later, None if step.kind == "act" else onto)

    def _may_pay(self, a: int, flow: Flow, worth: float) -> bool:
        """Whether the repair by itself saves, of what this costs as it is, enough of its own minutes."""
        weights = together(flow)
        total = float(weights.sum())
        minutes = float(self.plan.tables.at(frozenset(), ()).action_minutes[a])
        return float(self.plan.job.helps[a] @ weights) * worth >= PAYS * minutes * total * total

    def _next_towards(self, a: int, past: Past) -> Step | None:
        """The repair itself, or what comes first: looking back at what may speak against it, or a check.

        Plans are begun without what was ticked before a repair; looking back is thought of then as if nobody had.
        """
        facts, step = self.facts, Step("act", a)
        may, sure, barring = 0, -1, 0
        for behind in past.values():
            may, sure, barring = may | behind.may, sure & behind.sure, barring | behind.barring
        while True:
            against = barring & facts.barred(step)
            if against:
                finding = (against & -against).bit_length() - 1
                return Step("back", facts.check_of(finding))
            missing = facts.wants(step) & ~sure
            if not missing:
                return step
            if step.kind == "act":
                able = [c for c in range(facts.n_checks) if facts.to_show[a] & 1 << c]
                minutes = self.plan.tables.at(frozenset(), ()).check_minutes
                step = Step("check", min(able, key=lambda c: (not may & 1 << c, minutes[c], c)))
            else:
                step = Step("check", (missing & -missing).bit_length() - 1)


def heaviest(flow: Flow) -> Story:
    """The story with most weight."""
    return max(flow, key=lambda s: (float(flow[s].sum()), sorted(s.standing), s.known, s.leg))
