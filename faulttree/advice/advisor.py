"""What to do next: the quick choice at once, the refined one when there is time to play the best steps to the end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from heapq import nsmallest

import numpy as np

from faulttree.advice.choice import HELP, LEAST_NET_MINUTES, PROVE, Choice, State, Step
from faulttree.advice.early import early_variants
from faulttree.advice.eligible import Eligible
from faulttree.advice.floor import Floor
from faulttree.advice.forecast import Forecast
from faulttree.advice.job import Job
from faulttree.advice.progress import proofs_of, standing_for
from faulttree.advice.rollout import Budget, OutOfTime, Play, candidates
from faulttree.advice.rows import Rows, reported
from faulttree.advice.situation import Advice, Figures, Situation, Suggestion, Waiting
from faulttree.advice.steps import Steps
from faulttree.advice.why import explain
from faulttree.belief import Belief, Reported
from faulttree.belief.space import Bools
from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.conditions import Moves
from faulttree.graph.gates import Gates

FORECAST_CUT = 0.006
MANY_ROWS = 300
"""Probability down to which the plan is followed for the minutes to go; the more rows beyond so many, the less far."""

ROUGH_CUT = 0.03
"""The same for whoever wants an answer at once: a quarter of the work, and some five per cent more or less."""

LOOKED_AHEAD, RARE = 4, 0.02
"""Steps that the quick choice looks ahead where a repair is likely right; what is rarer is only estimated."""

LEAST_OFFERED = 0.15
"""Chance from which a repair is offered beside the step that leads."""

AS_GOOD_AS_FAILED = 0.8
"""Chance that the proof shows the squawk from which it is put off as long as there is something better to do."""

LIKELY = 2 / 3
WORTHWHILE = 0.02
ALIKE = 0.008
"""Chance from which a repair is likely right; the share of the job that a check before it must save; the share by
which two ways must differ to be told apart."""


class Advisor:
    """Advises on one book with one shop's figures. What it keeps between calls is a cache."""

    def __init__(self, book: Book, figures: Figures | None = None) -> None:
        self.book = book
        self.figures = figures or Figures.from_defaults(book.defaults)
        self.moves = Moves(book.conditions)
        self.gates = Gates(book)
        self._floors: dict[tuple[str, ...], Floor] = {}
        self._below: dict[str, frozenset[str]] = {}

    def advise(
        self, belief: Belief, situation: Situation, budget: Budget | None = None, *, ahead: bool = True,
        words: bool = True, cut: float = FORECAST_CUT, leader: bool = True,
    ) -> Advice:  # fmt: skip
        """The quick choice and all other ways, best first. An impossible need is simply not suggested.

        Raises Stopped where the budget says so; it is not used up.

        Without ``ahead`` the minutes to go and what to fetch are left out, which takes half the time. Without ``words``
        no step says what may come of it, what it saves and why it is suggested, nor the advice what waits for people or
        equipment. Without ``leader`` the same steps are offered, and which of them comes first is only estimated.
        Down to a chance of ``cut`` all branches are followed for the minutes to go, of rarer ones some stand for all.
        """
        return Round(self, belief, situation, budget, cut).quick(ahead, words, leader)

    def refine(
        self, belief: Belief, situation: Situation, budget: Budget | None = None, *, ahead: bool = True
    ) -> Advice:
        """The best ways played to the end of the job. If the budget runs out the quick choice stands.

        Raises Stopped.
        """
        return Round(self, belief, situation, budget).refined(ahead)

    def can_be_done(self, belief: Belief, situation: Situation) -> tuple[str, ...]:
        """The checks that can be done as things stand, whether they would tell anything or not; no proofs."""
        symptoms = [entry.symptom for entry in belief.evidence.entries if isinstance(entry, Reported)]
        floor = self.floor(proofs_of(self.book, sorted(set(symptoms))))
        steps, known = Steps(self.book, self.gates, floor, situation, symptoms), situation.ever | situation.done
        return tuple(
            c.id for c in self.book.checks.values()
            if c.proposed and not c.proof and known.issuperset(c.after) and steps.possible(c)
        )  # fmt: skip

    def looks_at(self, check: Check) -> frozenset[str]:
        """Faults below any outcome of a check."""
        if check.id not in self._below:
            names = [o.when for o in check.outcomes if o.when and o.when != THE_SQUAWK]
            self._below[check.id] = frozenset[str]().union(*(self.gates.below(name) for name in names))
        return self._below[check.id]

    def floor(self, proofs: tuple[str, ...]) -> Floor:
        """The floor for a job that ends by these proofs."""
        if proofs not in self._floors:
            like = next(iter(self._floors.values()), None)
            self._floors[proofs] = Floor(self.book, self.moves, self.figures, proofs, like)
        return self._floors[proofs]


class Round:
    """One call of the advisor: the job compiled from belief and situation, and what is suggested in it."""

    def __init__(
        self, advisor: Advisor, belief: Belief, situation: Situation, budget: Budget | None = None,
        cut: float = FORECAST_CUT,
    ) -> None:  # fmt: skip
        self._finest = cut
        self.advisor, self.book = advisor, advisor.book
        budget = budget or Budget()
        budget.heed()
        rows = Rows(belief, advisor.gates)
        floor = advisor.floor(proofs_of(self.book, reported(rows)))
        self.steps = Steps(advisor.book, advisor.gates, floor, situation, reported(rows))
        if self.steps.owes_what_cannot_be():
            # What was found after the repair bars its proof until something more is repaired.
            situation = replace(situation, owed=())
            self.steps = Steps(advisor.book, advisor.gates, floor, situation, reported(rows))
        self.situation = situation
        may = Eligible(self.book, advisor.gates, advisor.looks_at, self.steps, situation)
        actions = may.actions(rows.in_play(), belief.evidence.entries)
        able = may.checks(rows.in_play(), actions, frozenset(reported(rows)))
        budget.heed()
        self.job = Job(rows, floor, able, actions)
        self.play = Play(self.job, budget, situation.owed)
        place = {check.id: i for i, check in enumerate(self.job.checks)}
        done = frozenset(place[name] for name in situation.done if name in place)
        ever = done | frozenset(place[name] for name in situation.ever if name in place)
        done |= ever & self.job.lasting
        self.state = State(self.job.weights, situation.standing, situation.first, done, ever)
        self.plan: Choice = self.play.choice(self.state)
        self.choice: Choice = self._at_hand()
        self.put_off: tuple[str, ...] = ()
        fails = float(self.job.proof_fails @ self.job.weights)
        sure = fails >= AS_GOOD_AS_FAILED and not situation.own_words
        if situation.owed and sure and self.choice.step != HELP:
            self._put_proof_off()

    def _put_proof_off(self) -> None:
        """Two faults behind a squawk are proved mended at one go, when both are: no retraction test that is sure to
        show what is known to stand. What is due before it comes first; it is offered itself as the last of the ways."""
        owed = self.situation.owed
        proving = {name for proof in self.job.floor.proofs for name in standing_for(self.book, proof)}
        first = next((i for i, name in enumerate(owed) if name in proving), len(owed))
        self.put_off, self.situation = owed[first:], replace(self.situation, owed=owed[:first])
        self.steps = Steps(self.book, self.advisor.gates, self.job.floor, self.situation, self.steps.symptoms)

    def _at_hand(self) -> Choice:
        """The rule's view with what cannot be done just now left out of the steps to begin with.

        It is not left out of the plan: people come and tools are fetched while the job goes on.
        """
        checks = np.array([self._possible(Step("check", c)) for c in range(len(self.job.checks))], dtype=np.bool_)
        acts = np.array([self._possible(Step("act", a)) for a in range(len(self.job.actions))], dtype=np.bool_)
        return self.plan if checks.all() and acts.all() else self.play.rule.only(self.plan, checks, acts)

    def _possible(self, step: Step) -> bool:
        now = self.play.next_of(self.state, step)
        return self.steps.possible(self.job.item(now.kind, now.place))

    # -- advice ----------------------------------------------------------------------------------------

    def quick(self, ahead: bool, words: bool, leader: bool) -> Advice:
        """By the rule alone."""
        values = dict(self._estimates())
        first = self.choice.step
        values[self._likely_instead(first) if leader else first] = min(values.values())
        if ahead:
            self.play.learn_price(self.state, self.plan.step)
        return self._advice(values, frozenset(), self._cut if ahead else None, words)

    def refined(self, ahead: bool = True) -> Advice:
        """The best steps played to the end; those that the budget did not reach keep their estimate."""
        played = self._played()
        # What was not played cannot be said to be better than what was.
        worst = max((value for step, value in played.items() if step != HELP), default=0.0)
        values = {step: max(value, worst) for step, value in self._estimates()} | played
        return self._advice(values, frozenset(played), self._cut if ahead else None)

    def _likely_instead(self, first: Step) -> Step:
        """The step to lead with: a repair that is likely right, unless the check before it saves enough.

        The estimates of the rule are too rough to compare the two; both are looked at a few steps deeper.
        """
        likely = np.flatnonzero((self.choice.success >= LIKELY) & (self.choice.act_ratio > 0)).tolist()
        if first.kind != "check" or not likely:
            return first
        deep = {
            step: self._deeper(self.state, step, LOOKED_AHEAD) for step in (first, *(Step("act", i) for i in likely))
        }
        best = min((step for step in deep if step.kind == "act"), key=lambda step: (deep[step], step))
        return best if deep[best] <= (1.0 + WORTHWHILE) * deep[first] else first

    def _deeper(self, state: State, step: Step, depth: int, reached: float = 1.0) -> float:
        """What the job costs by this step and ``depth`` - 1 more by the rule, then estimated; the rare branches too."""
        minutes, branches = self.play.branches(state, self.play.next_of(state, step))
        for branch in branches:
            rest, chance = branch.minutes, reached * branch.probability
            if branch.state is not None:
                choice, ends = self.play.choice(branch.state), depth == 1 or chance < RARE
                rest = (
                    self.play.estimate(choice) if ends else self._deeper(branch.state, choice.step, depth - 1, chance)
                )
            minutes += branch.probability * min(rest, self.job.figures.help)
        return minutes

    @property
    def _cut(self) -> float:
        return self._finest * max(len(self.state.weights) / MANY_ROWS, 1.0)

    def _played(self) -> dict[Step, float]:
        played = {HELP: self.job.figures.help}
        steps = [PROVE] if self.situation.owed else list(candidates(self.choice))
        try:
            self.play.learn_price(self.state, self.plan.step)
            for step in (*steps, *early_variants(self.play, self.state, steps)):
                if step not in played:
                    played[step] = self.play.of_step(self.state, step)
        except OutOfTime:
            pass
        return played

    def _estimates(self) -> Iterator[tuple[Step, float]]:
        """Every step that tells or cures something, with what the job would cost by the price of a bit."""
        choice = self.choice
        price = 1.0 / choice.ratio if choice.ratio > 0 else 0.0
        parts = (
            ("check", choice.check_ratio, choice.check_net, choice.check_bits),
            ("act", choice.act_ratio, choice.act_net, choice.act_bits),
        )
        for kind, ratio, net, bits in parts:
            pays = ratio > 0 if kind == "check" else (ratio > 0) | self._as_good_as_found
            for index in np.flatnonzero(pays).tolist():
                left = max(choice.unknown - float(bits[index]), 0.0)
                yield Step(kind, index), choice.floor + max(float(net[index]), LEAST_NET_MINUTES) + price * left
        yield HELP, self.job.figures.help

    @cached_property
    def _as_good_as_found(self) -> Bools:
        """Actions that correct what very likely stands, whether the squawk comes of it or not, shape (n_actions,).

        Nobody leaves a leak that was found, or a strap that hangs loose, for want of a proof that it is to blame.
        """
        stands = self.job.holds @ self.state.weights[:-1]
        likely = {self.job.rows.frame.space.faults[i] for i in np.flatnonzero(stands >= LIKELY)}
        wanted = likely | self.situation.found
        return np.array(
            [not wanted.isdisjoint(action.corrects) and self._possible(Step("act", a))
             for a, action in enumerate(self.job.actions)], dtype=np.bool_,
        )  # fmt: skip

    def _advice(
        self, values: dict[Step, float], played: frozenset[Step], cut: float | None, words: bool = True
    ) -> Advice:
        first = self._leader(values)
        # What is as good as alike is told as alike: no way is shown as better than the one that leads. Of ways alike
        # in minutes, as all short ones are, the one that tells most for them comes first.
        alike = (1.0 + ALIKE) * values[first]
        values = {step: values[first] if value < alike else value for step, value in values.items()}
        ranked = sorted(
            values, key=lambda step: (step != first, values[step], step not in played, -self._ratio(step), step)
        )
        once = [step for step in self._once(ranked) if step == first or self._worth_offering(step)]
        suggestions = [self._suggestion(step, values[step], step in played, words) for step in once]
        if words:
            suggestions[0] = self.steps.with_what_follows(suggestions[0], self.play, self.state, once[0])
        if self.situation.owed:
            suggestions = self._with_owed(suggestions, values.get(PROVE))
        else:
            suggestions += self._put_off(suggestions)
        ranking = tuple(self._with_savings(suggestions) if words else suggestions)
        refined, waiting = len(played) > 1, self._waiting() if words else ()
        if cut is None:
            return Advice(ranking, None, waiting, refined=refined)
        forecast = Forecast(self.play, self.state, PROVE if self.situation.owed else ranked[0], cut)
        return Advice(ranking, forecast.to_go(), waiting, forecast.fetch(), refined)

    def _worth_offering(self, step: Step) -> bool:
        """Whether a step belongs among the other ways: not a repair that is hardly likely to be right."""
        if step.kind != "act" or float(self.choice.helps[step.place]) >= LEAST_OFFERED:
            return True
        return bool(self._as_good_as_found[step.place])

    def _leader(self, values: dict[Step, float]) -> Step:
        """The best step; among some that are as good as alike a repair that is likely right, then the best by the rule.

        What was found is repaired before anything else: no power goes into a gear with a part known to be bad.

        Rates are known to a factor of two, and branches too improbable to play are estimated: differences of a per
        cent mean nothing, and nobody likes to be asked five more questions before a repair that is as good as sure.
        """
        mends = [
            step for step in values
            if step.kind == "act" and not self.situation.found.isdisjoint(self.job.actions[step.place].corrects)
        ]  # fmt: skip
        if mends:
            return min(mends, key=lambda step: (values[step], step))
        best = min(values, key=lambda step: (values[step], step))
        if best.kind == "act":
            return best
        likely = [
            step for step, value in values.items()
            if step.kind == "act" and self.choice.success[step.place] >= LIKELY
            and value <= (1.0 + WORTHWHILE) * values[best]
        ]  # fmt: skip
        if likely:
            return min(likely, key=lambda step: (values[step], step))
        enough = (1.0 + ALIKE * self.play.learned) * values[best]
        alike = [step for step, value in values.items() if value <= enough and step.kind in ("check", "act")]
        return max(alike, key=lambda step: (self._ratio(step), step == best), default=best)

    def _ratio(self, step: Step) -> float:
        if step.kind not in ("check", "act"):
            return 0.0
        return float((self.choice.check_ratio if step.kind == "check" else self.choice.act_ratio)[step.place])

    def _once(self, steps: list[Step]) -> list[Step]:
        """Each step that can be done now with its best variant and its best reason alone."""
        found: dict[tuple[str, int], Step] = {}
        for step in steps:
            if step.kind != "prove":
                now = self.play.next_of(self.state, step)
                found.setdefault((now.kind, now.place), step)
        return list(found.values())

    def _suggestion(self, step: Step, value: float, played: bool, words: bool) -> Suggestion:
        suggestion = self.steps.suggestion(self.play, self.state, step, self.choice, value, played)
        return self.steps.with_outcomes(suggestion, self.play, self.state, step) if words else suggestion

    def _with_owed(self, suggestions: list[Suggestion], value: float | None) -> list[Suggestion]:
        """What is due after a repair comes before anything else, and ends the job if all is well."""
        if value is None:
            value = self._deeper(self.state, PROVE, 1)
        due = [replace(s, expected_minutes=value) for s in self.steps.owed(self.job, self.state.weights)]
        owed = {*self.situation.owed, *(s.id for s in due)}
        others = [s for s in suggestions if s.id not in owed and s.kind != "act"]
        return [*due, *(replace(s, expected_minutes=max(s.expected_minutes, value)) for s in others)]

    def _put_off(self, suggestions: Sequence[Suggestion]) -> list[Suggestion]:
        """The first of what was put off, for who would do it all the same."""
        due = Steps(
            self.book, self.advisor.gates, self.job.floor, replace(self.situation, owed=self.put_off),
            self.steps.symptoms,
        ).owed(self.job, self.state.weights)[:1]  # fmt: skip
        there = {s.id for s in suggestions}
        able = [s for s in due if s.id not in there and self.steps.possible(self.book.checks[s.id])]
        worst = max(s.expected_minutes for s in suggestions)
        return [replace(s, owed=False, expected_minutes=worst) for s in able]

    def _with_savings(self, suggestions: list[Suggestion]) -> Iterator[Suggestion]:
        best = nsmallest(2, suggestions, key=lambda s: s.expected_minutes)
        for suggestion in suggestions:
            rival = next((s for s in best if s is not suggestion), None)
            saves = 0.0 if rival is None else rival.expected_minutes - suggestion.expected_minutes
            why = explain(self.book, suggestion, saves, self.situation, rival)
            if self.put_off and suggestion is suggestions[0]:
                why += f" {self.book.checks[self.put_off[0]].name}: put off, since it would as good as surely fail now."
            yield replace(suggestion, saves_minutes=saves, why=why)

    def _waiting(self) -> tuple[Waiting, ...]:
        """Steps that would pay, and want people or equipment that are not at hand; the best first."""
        plan, waiting = self.plan, []
        ratios = [("check", plan.check_ratio, plan.check_bits), ("act", plan.act_ratio, plan.act_bits)]
        for kind, ratio, bits in ratios:
            for place in np.flatnonzero(ratio > 0).tolist():
                item = self.job.item(kind, place)
                lacking = self.steps.in_the_way(item)
                if lacking:
                    missing = tuple(name for name in lacking if name != "people")
                    wants = Waiting(item.id, item.name, self.steps.wants(item)[0], missing, float(bits[place]))
                    waiting.append((-float(ratio[place]), wants))
        return tuple(wants for _, wants in sorted(waiting, key=lambda pair: (pair[0], pair[1].id)))
