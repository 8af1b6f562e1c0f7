"""What a plan of numbered steps begins with: repairs one by one, and help at their end."""

from __future__ import annotations

import numpy as np

from faulttree.advice.choice import Choice
from faulttree.workshop.graph import END, HELP, START
from faulttree.workshop.plan import Plan
from faulttree.workshop.ways import Step

LEAST_CHANCE, LIKELY_ENOUGH = 0.002, 0.15
"""Chance from which a repair is tried at all, and after a check that speaks for it."""


class Seeder:
    """Puts the first steps into an empty plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.play, self.facts = plan, plan.job, plan.round.play, plan.facts

    def seed(self) -> None:
        """Repairs one by one, then help; before them the same for the leg that a question names, where one does."""
        plan = self.plan
        choice = self.play.choice(plan.round.state)
        following = self._one_by_one(choice, HELP, 0)
        for c in self._that_name_legs(choice):
            names = self.facts.names_leg[self.facts.first[c] : self.facts.first[c + 1]]
            legged = self._one_by_one(choice, following, next(leg for leg in names if leg))
            following = plan.add(Step("check", c), [legged if leg else following for leg in names])
        plan.lead(START, following)

    def _that_name_legs(self, choice: Choice) -> list[int]:
        """The check that names a leg in its outcomes and tells most for its minutes; none where none does."""
        ratio, first = choice.check_ratio, self.facts.first
        able = [c for c in range(len(ratio)) if any(self.facts.names_leg[first[c] : first[c + 1]]) and ratio[c] > 0]
        return sorted(able, key=lambda c: (-float(ratio[c]), c))[:1]

    def _one_by_one(self, choice: Choice, following: int, leg: int) -> int:
        """Repairs by falling chance per minute, each shown to be wanted where it has to be; of one leg if named."""
        facts = self.facts
        worth = np.where(choice.helps > LEAST_CHANCE, choice.helps / np.maximum(choice.act_minutes, 1.0), 0.0)
        order = [a for a in np.argsort(-worth, kind="stable").tolist() if worth[a] > 0]
        if leg:
            order = [a for a in order if len(facts.of_leg.get(("act", a), {})) == len(facts.legs)]
            order = [a for a in order if facts.for_any_leg(Step("act", a), leg)]
        groups: dict[int, list[int]] = {}
        for a in order:
            able = [c for c in range(len(self.job.checks)) if facts.to_show[a] & 1 << c]
            shows = min(able, key=lambda c: (choice.table.check_minutes[c], c), default=~a)
            groups.setdefault(shows, []).append(a)
        for shows, acts in reversed(groups.items()):
            for a in reversed(acts):
                following = self._add("act", a, leg, [END, following]) if shows < 0 else following
            if shows >= 0:
                following = self._shown_and_tried(shows, acts, following, leg)
        return following

    def _add(self, kind: str, place: int, leg: int, to: list[int]) -> int:
        step = Step(kind, place)
        return self.plan.add((self.facts.for_any_leg(step, leg) if leg else None) or step, to)

    def _shown_and_tried(self, c: int, acts: list[int], following: int, leg: int) -> int:
        """A check, with what has to come before it, then the repair that fits what it shows; else what follows."""
        tried = [self._add("act", a, leg, [END, following]) for a in acts]
        shown = self.job.shown[:, self.job.first[c] : self.job.first[c + 1]] * self.job.weights[:, None]
        to = []
        for o in range(shown.shape[1]):
            chances = self.job.cures[acts] @ shown[:, o] / max(float(shown[:, o].sum()), 1e-12)
            best = int(chances.argmax())
            to.append(tried[best] if chances[best] > LIKELY_ENOUGH else following)
        number = self._add("check", c, leg, to)
        before = [b for b in sorted(self._all_before(c)) if b != c]
        for b in reversed(before):
            number = self._add("check", b, leg, [number] * len(self.job.checks[b].outcomes))
        return number

    def _all_before(self, c: int) -> set[int]:
        found: set[int] = set()
        for b in range(len(self.job.checks)):
            if self.facts.after[c] & 1 << b:
                found |= {b} | self._all_before(b)
        return found
