"""Which steps are looked at for a place in a plan: that of the advice's rule, and those that do best as the plan is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

import numpy as np

from faulttree.advice.choice import Choice, State
from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats
from faulttree.workshop.flows import Flow, Story, remembered, together
from faulttree.workshop.graph import HELP
from faulttree.workshop.plan import Past, Plan
from faulttree.workshop.values import TOO_DEAR
from faulttree.workshop.ways import Behind, Step

TRIED_CHECKS, TRIED_ACTS, LOOKED_BACK = 3, 2, 2
"""Steps besides the rule's that are looked at closely for an edge."""

FORESEEN, TICKED = 12, 30
"""Repairs that are thought of as what may follow a check, or looking back at one, though no later step is it yet."""

MOSTLY = 0.7
"""Share of what comes along that has done a check from which it is not proposed."""

LEAST_TOLD = 0.05
"""Minutes that looking back at a check must save to be looked at closely."""


class Proposer:
    """Proposes steps for the places of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.play, self.facts = plan, plan.job, plan.round.play, plan.facts

    def ruled(self, flow: Flow, story: Story, past: Behind) -> Step | None:
        """What the rule would do with what comes along an edge; None where it would call for help, or cannot go on."""
        weights = together(flow)
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

    def promising(
        self, flow: Flow, story: Story, past: Past, later: Sequence[int], further: bool = False
    ) -> list[Step]:
        """The checks and repairs that do best if the later steps follow, roughly: all taken to be in one standing.

        ``further``: a repair that is not there yet may come between.
        """
        memory, weights = remembered(flow), together(flow)
        total = float(weights.sum())
        if total <= 0:
            return []  # nothing can come along here
        rough = self._rough(weights, story, past, later, further)
        known = [c for c in range(len(self.job.checks)) if self._met(Step("check", c), memory) >= MOSTLY * total]
        rough[known] = np.inf
        checks = [Step("check", int(c)) for c in np.argsort(rough, kind="stable")[:TRIED_CHECKS] if rough[c] < TOO_DEAR]
        back = [] if not self.facts.ticked else self._to_look_back(memory, weights, story, past, later)
        return [*back, *checks, *self.repairs(flow, story, past)]

    def rough_costs(self, flow: Flow, story: Story, past: Past, later: Sequence[int], steps: Sequence[Step]) -> Floats:
        """What comes along costs by each of some checks and repairs and what is best after it, roughly.

        All is taken to be in one standing. Infinite where a step may not stand here, or most of it did it before.
        """
        weights, memory, behind = together(flow), remembered(flow), past[story.leg]
        total = float(weights.sum())
        checks = self._rough(weights, story, past, later, further=True)
        values = [self.plan.value(n, story.standing, story.leg) for n in later if self.plan.allowed(past, n)]
        fallen = min(values, key=lambda value: float(value @ weights), default=self.plan.value(HELP, story.standing, 0))
        rough = np.full(len(steps), np.inf)
        for place, step in enumerate(steps):
            done = self.facts.on(step, story.leg)
            if done is None or self._met(done, memory) >= MOSTLY * total:
                continue
            if done.kind == "check":
                rough[place] = checks[done.place]
            elif self._fits(done, behind):
                cost = self.plan.costs.of(done, story.standing)
                if cost is not None:
                    rough[place] = float(self.plan.costs.tried(done.place, *cost, fallen) @ weights)
        return rough

    def repairs(self, flow: Flow, story: Story, past: Past) -> list[Step]:
        """The repairs that are likeliest to help for their minutes."""
        memory, weights = remembered(flow), together(flow)
        total = float(weights.sum())
        if total <= 0 or story.leg not in past:
            return []
        chance = self._chances(memory, weights, story.standing)
        able = (Step("act", int(a)) for a in np.argsort(-chance, kind="stable") if chance[a] > 0)
        return list(islice((step for step in able if self._fits(step, past[story.leg])), TRIED_ACTS))

    def likely_but_barred(self, flow: Flow, past: Past, most: int) -> list[int]:
        """The repairs likeliest to help for their minutes among those that were not tried, and may not be yet."""
        memory, weights = remembered(flow), together(flow)
        if not past or weights.sum() <= 0:
            return []
        chance = self._chances(memory, weights, frozenset())
        able = [
            a for a in np.argsort(-chance, kind="stable").tolist()
            if chance[a] > 0 and not all(self.facts.may_stand(Step("act", a), behind) for behind in past.values())
            and not any(behind.known & self.facts.bit(Step("act", a)) for behind in past.values())
        ]  # fmt: skip
        return able[:most]

    def _chances(self, memory: dict[int, Floats], weights: Floats, standing: Standing) -> Floats:
        """Of each repair: how likely it helps those that have not tried it, for its minutes."""
        minutes, total = self.plan.tables.at(standing, ()).action_minutes, float(weights.sum())
        left = np.array([1.0 - self._met(Step("act", a), memory) / total for a in range(len(self.job.actions))])
        return np.asarray(left * (self.job.helps @ weights) / np.maximum(minutes, 1.0))

    def _rough(self, weights: Floats, story: Story, past: Past, later: Sequence[int], further: bool) -> Floats:
        """What comes along costs by each check and what is best after it; infinite where it may not stand here."""
        plan, job, facts = self.plan, self.job, self.facts
        behind, table = past[story.leg], plan.tables.at(story.standing, ())
        usable = [n for n in later if plan.allowed(past, n)] or [HELP]
        may_stand = [facts.may_stand(Step("check", c), behind) for c in range(len(job.checks))]
        rough = np.full(len(job.checks), np.inf)
        likely = self._likely(weights, behind) if further else []
        for k, after in enumerate(table.after):
            here = [c for c, may in enumerate(may_stand) if may and table.check_after[c] == k]
            if here:
                values = np.array([plan.value(n, after, story.leg) for n in usable])
                columns = np.concatenate([np.arange(job.first[c], job.first[c + 1]) for c in here])
                shown = weights[:, None] * job.shown[:, columns]
                best = (values @ shown).min(axis=0)
                fallen = values[int((values @ weights).argmin())]
                for shows, tried in self._tried(likely, after, fallen, behind):
                    able = np.array([bool(shows >> c & 1) for c in job.check_of_column[columns].tolist()])
                    best = np.where(able, np.minimum(best, tried @ shown), best)
                at = np.cumsum([0, *(len(job.checks[c].outcomes) for c in here)])[:-1]
                rough[here] = table.check_minutes[here] * weights.sum() + np.add.reduceat(best, at)
        return rough

    def _tried(
        self, acts: Sequence[int], standing: Standing, failed: Floats, behind: Behind
    ) -> Iterator[tuple[int, Floats]]:
        """What repairs would cost for each row, with the checks after which each may be tried."""
        for a in acts:
            cost = self.plan.costs.of(Step("act", a), standing)
            if cost is not None:
                yield self.facts.shows_wanted(a, behind), self.plan.costs.tried(a, *cost, failed)

    def _likely(self, weights: Floats, behind: Behind, most: int = FORESEEN) -> list[int]:
        """The repairs that are likeliest to help, not tried before and nothing found against them."""
        helps, facts = self.job.helps @ weights, self.facts
        able = [
            a for a in np.argsort(-helps, kind="stable").tolist()
            if helps[a] > 0 and not behind.known & facts.bit(Step("act", a))
            and not behind.barring & facts.barred(Step("act", a))
        ]  # fmt: skip
        return able[:most]

    def _met(self, step: Step, memory: dict[int, Floats]) -> float:
        """How much of what comes along has done a step before."""
        return sum(float(memory[bit].sum()) for _, bit in self.facts.bits_of(step) if bit in memory)

    def _to_look_back(
        self, memory: dict[int, Floats], weights: Floats, story: Story, past: Past, later: Sequence[int]
    ) -> list[Step]:
        """Looking back at the checks whose answers, as ticked, tell best which later step or new repair should follow.

        Before a repair or since: a tick stays on the paper.
        """
        plan, facts, behind = self.plan, self.facts, past[story.leg]
        usable = [n for n in later if plan.allowed(past, n)] or [HELP]
        ways = np.array([plan.value(n, story.standing, story.leg) for n in usable])
        fallen = ways[int((ways @ weights).argmin())]
        tried = list(self._tried(self._likely(weights, behind, TICKED), story.standing, fallen, behind))
        now, found = float((ways @ weights).min()), list[tuple[float, int]]()
        for c in range(len(self.job.checks)):
            parts: dict[int, Floats] = {}
            for o, bit in facts.bits_of(Step("back", c)):
                if bit in memory:
                    parts[o] = parts[o] + memory[bit] if o in parts else memory[bit]
            if parts:
                told = np.array(list(parts.values()))
                able = np.array([*ways, *(vector for shows, vector in tried if shows >> c & 1)])
                rest = np.maximum(weights - told.sum(axis=0), 0.0)
                best = float((able @ told.T).min(axis=0).sum()) + float((ways @ rest).min())
                found.append((now - best, c))
        found.sort(key=lambda one: (-one[0], one[1]))
        return [Step("back", c) for saved, c in found[:LOOKED_BACK] if saved > LEAST_TOLD]

    def _fits(self, step: Step, past: Behind) -> bool:
        if step.kind == "act" and past.known & self.facts.bit(step):
            return False
        return self.facts.may_stand(step, past)
