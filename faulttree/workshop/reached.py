"""How each step of a plan may be come to: what may stand then, whatever its chance, and what is due after a repair."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

from faulttree.advice.floor import Standing
from faulttree.book.model import Check
from faulttree.workshop.graph import END, HELP
from faulttree.workshop.plan import Plan
from faulttree.workshop.ways import Step


class Reached:
    """The steps of a plan that is not altered any more; what was worked out once is kept."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.book, self.moves = plan, plan.round.book, plan.round.advisor.moves
        self.behind = plan.behind()
        self._dues: dict[tuple[int, int], tuple[list[str], list[str]]] = {}

    def done(self, n: int, leg: int) -> Step:
        """The step itself where a leg is the noted one."""
        step = self.plan.facts.on(self.plan.nodes[n].step, leg)
        assert step is not None
        return step

    def looks_back(self, n: int) -> bool:
        """Whether what a step showed is only looked up there."""
        return self.plan.looks_back(n, self.behind[n])

    def may_be_met_again(self, n: int) -> bool:
        """Whether the same may have been done on the way to a step, so that it is passed over."""
        facts = self.plan.facts
        return any(self.behind[n][leg].may & facts.bit(self.done(n, leg)) for leg in self.behind[n])

    # -- what stands -----------------------------------------------------------------------------------

    @cached_property
    def entered(self) -> dict[int, dict[int, list[Standing]]]:
        """In which standings each step can be reached, by the noted leg."""
        facts = self.plan.facts
        found: dict[int, dict[int, dict[Standing, None]]] = {self.plan.root: {0: {frozenset(): None}}}
        for n in (n for n in self.plan.order() if n != HELP):
            node, looks_back = self.plan.nodes[n], self.looks_back(n)
            passed_over = looks_back or self.may_be_met_again(n)
            for leg, standings in found[n].items():
                step = self.done(n, leg)
                for standing in standings:
                    # A step that was done already moves nothing.
                    stays: dict[Standing, None] = {standing: None} if passed_over else {}
                    leaves = {} if looks_back else self._leaving(n, leg, standing)
                    for o, t in enumerate(node.to):
                        if t != END:
                            left = stays | self._put_down(n, leg, o, leaves)
                            found.setdefault(t, {}).setdefault(facts.noted(step, o, leg), {}).update(left)
        return {n: {leg: list(stands) for leg, stands in by_leg.items()} for n, by_leg in found.items()}

    def begun(self, n: int) -> dict[int, list[Standing]]:
        """In which standings a step is begun: once more too, where it is done twice."""
        found = self.entered[n]
        if not self.plan.nodes[n].step.twice:
            return found
        return {
            leg: list(dict.fromkeys([*stands, *(after for one in stands for after in self._leaving_once(n, leg, one))]))
            for leg, stands in found.items()
        }

    def _put_down(self, n: int, leg: int, o: int, leaves: dict[Standing, None]) -> dict[Standing, None]:
        """The same once what an outcome speaks against is put back, where it stands."""
        item = self.plan.item(self.done(n, leg))
        bars = item.outcomes[o].bars if isinstance(item, Check) and o < len(item.outcomes) else ()
        return dict.fromkeys(self.moves.without(stands, bars).after for stands in leaves) if bars else leaves

    def _leaving(self, n: int, leg: int, standing: Standing) -> dict[Standing, None]:
        """What may stand once a step was done with all that is due, for the last time."""
        left = self._leaving_once(n, leg, standing)
        if self.plan.nodes[n].step.twice:
            for one in list(left):
                left |= self._leaving_once(n, leg, one)
        return left

    def _leaving_once(self, n: int, leg: int, standing: Standing) -> dict[Standing, None]:
        """The same for the first time, or left off where a finding spoke against it."""
        item = self.plan.item(self.done(n, leg))
        now = {self.moves.after(standing, item.needs): None}
        if isinstance(item, Check):
            return now
        left, bars = dict[Standing, None](), set(self._may_bar[n])
        again, due = self.due(n, leg)
        for place, name in enumerate((*again, *due)):
            check = self.book.checks[name]
            if not bars.isdisjoint(self.moves.closure(check.needs)):
                left |= now
            then = self.found(name, (self.moves.after(stands, check.needs) for stands in now))
            barred = self._barred_by(name)
            now = now | then if place < len(again) else then
            bars |= barred
        return left | now

    def found(self, check: str, standings: Iterable[Standing]) -> dict[Standing, None]:
        """What may stand once a check was done after a repair, from these: what it may have found is put back."""
        every = dict.fromkeys(standings)
        bars = dict.fromkeys(outcome.bars for outcome in self.book.checks[check].outcomes if outcome.bars)
        return every | dict.fromkeys(self.moves.without(stands, barred).after for barred in bars for stands in every)

    def _barred_by(self, check: str) -> set[str]:
        return {c for outcome in self.book.checks[check].outcomes for c in outcome.bars}

    @cached_property
    def _may_bar(self) -> dict[int, set[str]]:
        """Conditions that something found on the way to a repair may speak against: by a check, or after a repair."""
        bars = self.plan.facts.bars
        repairs = [n for n, node in self.plan.nodes.items() if node.step.kind == "act"]
        after = {
            n: {c for leg in self.behind[n] for names in self.due(n, leg) for name in names
                for c in self._barred_by(name)}
            for n in repairs
        }  # fmt: skip
        found = {}
        for n in repairs:
            barring = [behind.barring for behind in self.behind[n].values()]
            found[n] = {c for f, named in bars.items() if any(one & 1 << f for one in barring) for c in named}
            found[n].update(*(after[m] for m in repairs if m != n and self.plan.reach(m) & 1 << n))
            found[n].update(after[n] if self.plan.nodes[n].step.twice else ())
        return found

    # -- what is due after a repair --------------------------------------------------------------------

    def due(self, n: int, leg: int) -> tuple[list[str], list[str]]:
        """What has to be looked at again after a repair where a finding still stops its proof; what is due then."""
        found = self._dues.get((n, leg))
        if found is None:
            due = {at: self.plan.facts.due[self.done(n, at).place] for at in self.behind[n]}
            always = set.intersection(*(set(names) for names in due.values()))
            # The same for every leg: what was found may have been found on another one.
            again = [c for at in sorted(self.behind[n]) for c in self._looked_at_again(n, self.done(n, at).place)]
            maybe = [c for c in dict.fromkeys(again) if c not in always]
            found = self._dues[n, leg] = maybe, self._lifting_first(due[leg], again)
        return found

    def _looked_at_again(self, n: int, place: int) -> list[str]:
        """Checks that have to show well again before what follows a repair, where they may have barred that."""
        facts, found = self.plan.facts, 0
        for behind in self.behind[n].values():
            found |= behind.barring & facts.lifted_by_proving[place]
        lifting = (min(facts.lifts[f], default=facts.check_of(f)) for f in facts.bars if found & 1 << f)
        return [self.plan.job.checks[c].id for c in lifting]

    def _lifting_first(self, due: Sequence[str], again: Iterable[str]) -> list[str]:
        """Checks in the order in which they are due, but what has to show well again before others come first.

        With what comes before that itself: else it stood behind a check that it has to open, and nothing was proved.
        """
        first: list[str] = []
        for name in (c for c in dict.fromkeys(again) if c in due):
            first += [c for c in (*self._before(name), name) if c in due and c not in first]
        return [*first, *(c for c in due if c not in first)]

    def _before(self, check: str) -> list[str]:
        return [part for name in self.book.checks[check].after for part in (*self._before(name), name)]
