"""A plan of numbered steps: each leads on to a later one by what it showed, and what was done is not done again.

The steps form a graph without rings. What a step is worth is one number for each row of the job (what it would cost
from there if that row were the truth), so that the worth of a step to any belief is a product of two vectors: a finite
controller of a partly seen process (Hansen, "Solving POMDPs by searching in policy space", UAI 1998), here without
rings, and with the ticks on the paper as its memory: a check met again since the last repair shows what it showed, a
repair met again has failed. The safety rules go by sets over all ways to a step, whatever their chance (``ways``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Check
from faulttree.workshop.costs import Costs
from faulttree.workshop.flows import Flow, Story, pour
from faulttree.workshop.graph import END, HELP, Edge, Graph, Node
from faulttree.workshop.mending import Mending
from faulttree.workshop.pouring import Pouring
from faulttree.workshop.values import CANNOT_BE, TOO_DEAR, Values
from faulttree.workshop.ways import NEVER, Behind, Facts, Onward, Step

UNFORESEEN = 1e-6
"""What an outcome that cannot be is taken to weigh, so that it leads somewhere sensible."""

Past = dict[int, Behind]
"""What lies behind a way, by the leg that is noted on it."""


class Looked(NamedTuple):
    """What arrives at each step, what comes along each edge, and what the whole costs."""

    arriving: dict[int, Flow]
    edges: dict[Edge, Flow]
    worth: float


class Plan(Graph):
    """Steps with what they cost and are worth. Values in minutes of cost.

    ``dearer``: help is taken to cost so many times what it does. ``forgetful``: light ways that come together forget
    what they do not share, so that a step met again may seem to tell something new; only for a plan to grow in.
    """

    def __init__(self, round_: Round, dearer: float = 1.0) -> None:
        super().__init__()
        self.round, self.job, self.tables = round_, round_.job, round_.play.rule.tables
        self.facts = Facts(round_)
        self.forgetful = False
        self._values = Values(len(self.job.weights))
        self._remembered: dict[int, dict[int, Floats]] = {}
        self._columns: Floats = np.ascontiguousarray(self.job.shown.T)
        self._shown: Floats = self._columns + UNFORESEEN
        self._onward: dict[int, dict[int, Onward]] = {}
        self._stops: dict[int, Floats] = {}
        self._mending = Mending(self.job, self.facts)
        self.costs = Costs(round_, dearer)
        self.poured = Pouring(self)
        self._help = np.full(len(self.job.weights), self.costs.help)

    # -- the graph -------------------------------------------------------------------------------------

    def alter(self, n: int, step: Step, to: list[int]) -> None:
        """Let a step be another one."""
        super().alter(n, step, to)
        self._remembered.pop(n, None)

    def kept(self) -> tuple[dict[int, Node], int, dict[int, dict[int, Floats]]]:
        """The steps as they are now with what is usually remembered at them, to go back to by ``restore``."""
        return self.copied(), self.root, dict(self._remembered)

    def restore(
        self, nodes: dict[int, Node], root: int, remembered: dict[int, dict[int, Floats]] | None = None
    ) -> None:
        """Back to steps that were copied before."""
        super().restore(nodes, root)
        self._onward, self._remembered = {}, remembered or {}
        self._values.forget()

    def changed(self, n: int) -> None:
        """What is known of a step and all after it holds no longer."""
        self._onward.pop(n, None)
        self._values.change(n)

    # -- what a step costs and is worth ----------------------------------------------------------------

    def value(self, n: int, standing: Standing, leg: int) -> Floats:
        """What the rest of the job costs from a step on, for each row (n + 1,), with the memory that is usual there."""
        if n == HELP:
            return self._help
        table = self._values.at((standing, leg))
        if n not in table.valid:
            minds = self.minds_leg(n)
            table.put(n, self._value(n, standing, leg) if minds or not leg else self.value(n, standing, 0))
        return table.of(n)

    def _value(self, n: int, standing: Standing, leg: int) -> Floats:
        node, job, facts = self.nodes[n], self.job, self.facts
        step = facts.on(node.step, leg)
        cost = None if step is None else self.costs.of(step, standing)
        if step is None or cost is None:
            return np.full(len(job.weights), CANNOT_BE)
        minutes, after = cost
        if step.kind == "back":
            total = self.value(node.to[-1], after, leg)
        elif step.kind == "check":
            first, total = job.first[step.place], np.full(len(job.weights), minutes)
            for o, t in enumerate(node.to):
                total += self._columns[first + o] * self.value(t, after, facts.noted(step, o, leg))
        else:
            total = self._tried_and_gone_on(step, minutes, after, node.to[1], leg)
        remembered = self._remembered.get(n)
        if remembered:
            total = total * (1.0 - sum(remembered.values()))
            for o, share in remembered.items():
                total += share * self.value(node.to[o], standing, facts.noted(step, o, leg))
        return total

    def _tried_and_gone_on(self, step: Step, minutes: float, after: Standing, to: int, leg: int) -> Floats:
        """What a repair costs for each row with all that follows where it failed, once or twice."""
        again = self.costs.of(step, after) if step.twice else None
        last = after if again is None else again[1]
        failed = self.value(to, last, leg)
        stopped = self.stopped(step.place, to, leg)
        if stopped is not None:
            failed = failed + stopped * (self.costs.help - failed)
        if again is not None:
            failed = self.costs.tried(step.place, *again, failed)
        return self.costs.tried(step.place, minutes, after, failed)

    def stops(self, a: int, to: int, leg: int) -> int:
        """The findings after a repair that speak against a step from one on."""
        return self.facts.found_after[a] & self.onward(to, leg).refuses if a >= 0 and to != HELP else 0

    def stopped(self, a: int, to: int, leg: int) -> Floats | None:
        """Chance for each row that what is found after a repair speaks against a step from one on: help is called.

        Such a check is done once more at once, and what it shows then counts. As if each way on came to such a step.
        None where nothing that may be found does.
        """
        findings = self.stops(a, to, leg)
        return self.shown_any(findings) if findings else None

    def shown_any(self, findings: int) -> Floats:
        """Chance for each row that any of some findings is found after a repair."""
        chance = self._stops.get(findings)
        if chance is None:
            chance = np.zeros(len(self.job.weights))
            for every in self.facts.outcomes_of:
                columns = [f for f in self.facts.bars if findings & every & 1 << f]
                chance += self.job.shown[:, columns].sum(axis=1) ** 2  # looked at twice
            chance = self._stops[findings] = np.minimum(chance, 1.0)
        return chance

    def worth(self, flow: Flow, to: int, most: float = float("inf")) -> float:
        """What the weights of a flow cost from a step on; infinite where it cannot be done from what stands.

        Where that passes ``most`` it is not worked out to the end.
        """
        total, facts = 0.0, self.facts
        for story, weights in flow.items():
            n, leg, rest = to, story.leg, weights
            stopped = self.stopped(story.failed, to, leg) if story.failed >= 0 else None
            if stopped is not None:
                total += self.costs.help * float(weights @ stopped)
                weights = rest = weights * (1.0 - stopped)
            while n != HELP:
                step = facts.on(self.nodes[n].step, leg)
                shown = -1 if step is None else facts.recalled(step, story.known)
                if step is None:
                    break
                if shown < 0:
                    parts, rest = self.met(step, story, weights)
                    for o, part in parts.items():
                        later = self.value(self.nodes[n].to[o], story.standing, facts.noted(step, o, leg))
                        total += float(part @ later)
                    if step.kind != "back":
                        break
                    weights = rest  # whoever never did it goes on at once
                n, leg = self.nodes[n].to[shown], facts.noted(step, shown, leg)
            total += float(rest @ self.value(n, story.standing, leg))
            if total > most:
                break
        return total if total < TOO_DEAR else float("inf")

    def roughly(self, flow: Flow, among: Sequence[int]) -> Floats:
        """The same for each of several steps other than help, nothing remembered but what is usual there."""
        together: dict[tuple[Standing, int, int], Floats] = {}
        for story, weights in flow.items():
            where = story.standing, story.leg, story.failed
            together[where] = together[where] + weights if where in together else weights
        total = np.zeros(len(among))
        for (standing, leg, failed), weights in together.items():
            table = self._values.at((standing, leg))
            for n in among:
                if n not in table.valid:
                    self.value(n, standing, leg)
            total += table.weighed(among, weights)
            for place, n in enumerate(among if failed >= 0 else ()):
                stopped = self.stopped(failed, n, leg)
                if stopped is not None:
                    total[place] += float((weights * stopped) @ (self._help - table.of(n)))
        return np.where(total < TOO_DEAR, total, np.inf)

    def met(self, step: Step, story: Story, weights: Floats) -> tuple[dict[int, Floats], Floats]:
        """What of a story has done a step before, by what that led to, and what has not."""
        shown = self.facts.recalled(step, story.known)
        if shown >= 0:
            return {shown: weights}, np.zeros_like(weights)
        if story.blur is None:
            return {}, weights
        parts: dict[int, Floats] = {}
        for o, bit in self.facts.bits_of(step):
            share = story.blur.of(bit)
            if share is not None:
                parts[o] = weights * share if o not in parts else parts[o] + weights * share
        if not parts:
            return {}, weights
        return parts, np.maximum(weights - np.sum(list(parts.values()), axis=0), 0.0)

    def spent(self, step: Step, flow: Flow) -> float | None:
        """What a step itself costs for what comes along, and what ends there; None where it cannot be done."""
        total = 0.0
        for story, weights in flow.items():
            done = self.facts.on(step, story.leg)
            if done is None:
                return None
            if self.facts.recalled(done, story.known) >= 0:
                continue
            _, rest = self.met(done, story, weights)
            tries = self.costs.of_tries(done, story.standing)
            if not tries:
                return None
            for minutes, after in tries:
                total += minutes * float(rest.sum())
                if step.kind == "act":
                    total += self.costs.ended(done.place, after, rest)
                    rest = self.job.after_failed(done.place, rest)
        return total

    def whole(self) -> float:
        """What the job costs by this plan, with all that is remembered on the way."""
        return self.poured.spent(self.poured.poured())

    # -- what comes along the ways ---------------------------------------------------------------------

    def flows(self, finely: bool = False) -> tuple[dict[int, Flow], dict[Edge, Flow]]:
        """Weights that arrive at each step, and along each edge."""
        poured = self.poured.poured(finely)
        return {n: one.flow for n, one in poured.items()}, self.poured.edges(poured)

    def looked_over(self) -> Looked:
        """The flows; what they remember at each step is what values reckon with from now on."""
        poured = self.poured.poured()
        self._remembered = self.poured.remembered(poured)
        self._values.forget()
        arriving = {n: one.flow for n, one in poured.items()}
        return Looked(arriving, self.poured.edges(poured), self.poured.spent(poured))

    def leaving(self, step: Step, flow: Flow) -> Iterator[tuple[int, Flow]]:
        """What leaves a step by each outcome that leads on to another one; nothing where it cannot be done."""
        if step.kind == "help":
            return
        facts = self.facts
        many = facts.ways_on(step)
        out: list[Flow] = [{} for _ in range(many)]
        for story, weights in flow.items():
            done = facts.on(step, story.leg)
            recalled = -1 if done is None else facts.recalled(done, story.known)
            if done is not None and recalled >= 0:
                pour(out[recalled], story._replace(leg=facts.noted(done, recalled, story.leg), failed=-1), weights)
                continue
            cost = None if done is None else self.costs.of(done, story.standing)
            if done is None or cost is None:
                return
            met, rest = self.met(done, story, weights)
            for o, part in met.items():
                leg = facts.noted(done, o, story.leg)
                pour(out[o], self._looked_up(done, o, story)._replace(leg=leg, failed=-1), part)
            if step.kind == "back":
                pour(out[-1], story._replace(failed=-1), rest)
                continue
            if step.kind == "act":
                pour(out[1], *self._failed(done, story, rest))
                continue
            first = facts.first[done.place]
            parts: Floats = self._shown[first : first + many] * rest
            every = facts.of_check(done.place)
            known, blur = story.known & ~every, story.blur.without(every) if story.blur else None
            for o in range(many):
                leg = facts.noted(done, o, story.leg)
                pour(out[o], Story(cost[1], known | 1 << (first + o), leg, blur), parts[o])
        yield from ((o, leaves) for o, leaves in enumerate(out) if step.kind != "act" or o == 1)

    def _failed(self, step: Step, story: Story, weights: Floats) -> tuple[Story, Floats]:
        """A story once a repair failed, and what of its weights is left."""
        for _, after in self.costs.of_tries(step, story.standing):
            blur = self._mending.blur_after(step.place, story, weights)
            known = self.facts.known_after_repair(step.place, story.known)
            story = Story(after, known, story.leg, blur, step.place)
            weights = self.job.after_failed(step.place, weights)
        return story, weights

    def _looked_up(self, step: Step, o: int, story: Story) -> Story:
        """A part of a story that turned out to have done a step before."""
        assert story.blur is not None
        shares = {bit: story.blur.of(bit) for shown, bit in self.facts.bits_of(step) if shown == o}
        bit = max(shares, key=lambda one: -1.0 if (share := shares[one]) is None else float(share.sum()))
        every = 1 << bit if step.kind == "act" else self.facts.of_check(step.place)
        return story._replace(known=story.known | 1 << bit, blur=story.blur.without(every))

    # -- safety rules ----------------------------------------------------------------------------------

    def behind(self) -> dict[int, Past]:
        """What the ways to each step have done."""
        found: dict[int, Past] = {self.root: {0: Behind()}}
        for n in self.order():
            for o, t in enumerate(self.nodes[n].to):
                if t != END:
                    joined(found.setdefault(t, {}), self.past(self.nodes[n].step, o, found[n]))
        return found

    def looks_back(self, n: int, before: Past) -> bool:
        """Whether every way to a step has done its check, or it was made for that: what it showed is looked up."""
        step = self.nodes[n].step
        return step.kind == "back" or (
            step.kind == "check"
            and all(
                (done := self.facts.on(step, leg)) is not None and behind.known & self.facts.bit(done)
                for leg, behind in before.items()
            )
        )

    def past(self, step: Step, o: int, before: Past) -> Past:
        """What was done once a step showed an outcome."""
        found: Past = {}
        for leg, behind in before.items():
            done = self.facts.on(step, leg)
            if done is not None:
                joined(found, {self.facts.noted(done, o, leg): self.facts.past(done, o, behind)})
        return found

    def onward(self, n: int, leg: int) -> Onward:
        """What a step and all after it do and want where a leg is the noted one."""
        if leg and not self.minds_leg(n):
            leg = 0
        self.reach(n)
        known = self._onward.setdefault(n, {})
        found = known.get(leg)
        if found is None:
            node = self.nodes[n]
            step = self.facts.on(node.step, leg)
            if step is None:
                return Onward(wants=NEVER)
            then = [None if t == END else self.onward(t, self.facts.noted(step, o, leg)) for o, t in enumerate(node.to)]
            found = known[leg] = self.facts.onward(step, then)
        return found

    def allowed(self, past: Past, to: int) -> bool:
        """Whether a way with this behind it may lead to a step: nothing missing or barred from there on."""
        return all(self.facts.allowed(behind, self.onward(to, leg)) for leg, behind in past.items())

    def may_stand(self, step: Step, past: Past) -> bool:
        """Whether a step itself may be done with this behind it."""
        every = ((self.facts.on(step, leg), behind) for leg, behind in past.items())
        return all(done is not None and self.facts.may_stand(done, behind) for done, behind in every)

    def item(self, step: Step) -> Check | Action:
        """The check or action of a step."""
        return self.job.item("check" if step.kind == "back" else step.kind, step.place)


def joined(into: Past, other: Past) -> None:
    """Let what is behind a way be behind a place too, by leg."""
    for leg, behind in other.items():
        into[leg] = into[leg].joined(behind) if leg in into else behind
