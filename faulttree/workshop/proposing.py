"""Which steps are looked at for a place in a plan: that of the advice's rule, and those that do best as the plan is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from faulttree.advice.choice import Choice, State
from faulttree.advice.job import entropy
from faulttree.belief.likelihood import Floats
from faulttree.workshop.flows import Flow, Story, remembered
from faulttree.workshop.graph import HELP
from faulttree.workshop.plan import Past, Plan
from faulttree.workshop.values import TOO_DEAR
from faulttree.workshop.ways import Behind, Step

TRIED_CHECKS, TRIED_ACTS, LOOKED_BACK = 3, 2, 2
"""Steps besides the rule's that are looked at closely for an edge."""

MOSTLY = 0.7
"""Share of what comes along that has done a check from which it is not proposed."""

KNOWN_BY, DIFFERS = 0.9, 0.03
"""Share of what comes along that has done a check that is looked back at; share that it must tell apart."""


class Proposer:
    """Proposes steps for the places of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.play, self.facts = plan, plan.job, plan.round.play, plan.facts

    def ruled(self, flow: Flow, story: Story, past: Behind) -> Step | None:
        """What the rule would do with what comes along an edge; None where it would call for help, or cannot go on."""
        weights = np.sum(list(flow.values()), axis=0)
        total = float(weights.sum())
        if total <= 0:
            return None
        memory = remembered(flow)
        done = frozenset(
            c for c in range(len(self.job.checks)) if self._met(Step("check", c), memory) >= MOSTLY * total
        )
        ever = frozenset(c for c in range(len(self.job.checks)) if past.sure & 1 << c)
        choice = self._open(self.play.choice(State(weights / total, story.standing, (), done, ever | done)), past)
        step = Step(choice.step.kind, choice.step.place)
        if step.kind == "help":
            step = self._lifting(past)
            if step.kind == "help":
                return None
        return self._first(step, past, choice)

    def _open(self, choice: Choice, past: Behind) -> Choice:
        """The rule's view with what was tried, or is barred by what was found, left out."""
        facts, n = self.facts, self.facts.n_checks
        checks = np.array([not past.barring & against for against in facts.checks_barred], dtype=np.bool_)
        acts = np.array(
            [not past.barring & against and not past.known & 1 << (n + a)
             for a, against in enumerate(facts.actions_barred)], dtype=np.bool_,
        )  # fmt: skip
        return choice if checks.all() and acts.all() else self.play.rule.only(choice, checks, acts)

    def _lifting(self, past: Behind) -> Step:
        """A check that can lift what bars the way; help where there is none."""
        facts = self.facts
        for finding in (f for f in facts.bars if past.barring & 1 << f):
            own = next(c for c, columns in enumerate(facts.outcomes_of) if columns & 1 << finding)
            for c in sorted(facts.lifts[finding] or {own}):
                step = Step("check", c)
                if not past.barring & facts.barred(step):
                    return step
        return Step("help")

    def _first(self, step: Step, past: Behind, choice: Choice) -> Step | None:
        """The step itself, or what has to come before it."""
        facts = self.facts
        if step.kind == "act" and facts.wants(step) & ~past.sure:
            # Done on some ways only: whoever did it already takes what it showed.
            able = [c for c in range(facts.n_checks) if facts.to_show[step.place] & 1 << c]
            step = Step("check", min(able, key=lambda c: (not past.may & 1 << c, choice.table.check_minutes[c], c)))
        while step.kind == "check" and facts.after[step.place] & ~past.sure:
            missing = facts.after[step.place] & ~past.sure
            step = Step("check", (missing & -missing).bit_length() - 1)
        return step if not past.barring & facts.barred(step) else None

    def promising(self, flow: Flow, story: Story, past: Past, later: Sequence[int]) -> list[Step]:
        """The checks and repairs that do best if the later steps follow, roughly: all taken to be in one standing."""
        plan, job = self.plan, self.job
        behind = past[story.leg]
        weights: Floats = np.sum(list(flow.values()), axis=0)
        table = plan.tables.at(story.standing, ())
        usable = [n for n in later if plan.allowed(past, n)] or [HELP]
        joint = weights[:, None] * job.shown
        rough = np.full(len(job.checks), np.inf)
        for k, after in enumerate(table.after):
            here = [
                c
                for c in range(len(job.checks))
                if table.check_after[c] == k and self.facts.may_stand(Step("check", c), behind)
            ]
            if here:
                values = np.array([plan.value(n, after, story.leg) for n in usable])
                columns = [int(job.first[c]) + o for c in here for o in range(len(job.checks[c].outcomes))]
                best = (values @ joint[:, columns]).min(axis=0)
                at = np.cumsum([0, *(len(job.checks[c].outcomes) for c in here)])[:-1]
                rough[here] = table.check_minutes[here] * weights.sum() + np.add.reduceat(best, at)
        memory, total = remembered(flow), float(weights.sum())
        if total <= 0:
            return []  # nothing can come along here
        known = [c for c in range(len(job.checks)) if self._met(Step("check", c), memory) >= MOSTLY * total]
        rough[known] = np.inf
        checks = [Step("check", int(c)) for c in np.argsort(rough, kind="stable")[:TRIED_CHECKS] if rough[c] < TOO_DEAR]
        left = np.array([1.0 - self._met(Step("act", a), memory) / total for a in range(len(job.actions))])
        chance = left * (job.helps @ weights) / np.maximum(table.action_minutes, 1.0)
        acts = [Step("act", int(a)) for a in np.argsort(-chance, kind="stable")[:TRIED_ACTS] if chance[a] > 0]
        return [*self._to_look_back(memory, total), *checks, *(step for step in acts if self._fits(step, behind))]

    def _met(self, step: Step, memory: dict[int, Floats]) -> float:
        """How much of what comes along has done a step before."""
        return sum(float(memory[bit].sum()) for _, bit in self.facts.bits_of(step) if bit in memory)

    def _to_look_back(self, memory: dict[int, Floats], total: float) -> list[Step]:
        """Checks that nearly all that comes along has done, with the most bits in what they showed."""
        job = self.job
        found: list[tuple[float, int]] = []
        for c in range(len(job.checks)):
            parts = [memory[bit] for _, bit in self.facts.bits_of(Step("check", c)) if bit in memory]
            sums = [float(part.sum()) for part in parts]
            if sum(sums) >= KNOWN_BY * total and sum(sums) - max(sums, default=0.0) >= DIFFERS * total:
                left = sum(s * entropy(job.sums(part)) for s, part in zip(sums, parts, strict=True)) / sum(sums)
                found.append((left, c))
        return [Step("check", c) for _, c in sorted(found)[:LOOKED_BACK]]

    def _fits(self, step: Step, past: Behind) -> bool:
        if step.kind == "act" and past.known & self.facts.bit(step):
            return False
        return self.facts.may_stand(step, past)
