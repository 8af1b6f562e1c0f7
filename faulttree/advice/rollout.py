"""The refined choice: the best steps played to the end of the job under the quick rule, over all outcomes.

Information-led rollout after Tu and Pattipati (IEEE Trans. SMC-A 33(1), 2003). A branch that has become improbable is
valued by an estimate; at every state trying one repair after another (Kadane and Simon, 1977: by falling probability /
cost) is an alternative to the rule.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from faulttree.advice.choice import HELP, UNKNOWN_PRICE, Choice, Rule, State, Step
from faulttree.advice.floor import Standing
from faulttree.advice.job import Job
from faulttree.belief.likelihood import Floats

CUT = 0.02
"""Probability from which a branch is valued by an estimate."""

PRACTICE = 0.5
"""The price of a bit is learned from a play in which branches end so much earlier."""

LEAST_FOLLOWED = 0.001
"""The same where a repair comes next, whose proof mostly ends the job."""

MOST_STATES = 2500
FORGOTTEN = 1e-9


class OutOfTime(Exception):
    """The budget ran out; what was finished before still stands."""


class Stopped(Exception):
    """Nobody waits for the advice any more."""


@dataclass
class Budget:
    """How long to refine: so many states. ``stop`` is asked again and again whether nobody waits for it any more."""

    states: int = MOST_STATES
    stop: Callable[[], bool] | None = None
    used: int = field(default=0, init=False)

    def heed(self) -> None:
        """Raises Stopped."""
        if self.stop is not None and self.stop():
            raise Stopped

    def spend(self) -> None:
        """Count one state. Raises OutOfTime, Stopped."""
        self.heed()
        self.used += 1
        if self.used > self.states:
            raise OutOfTime


@dataclass(frozen=True, slots=True)
class Branch:
    """One outcome of a step: its place among the step's outcomes, its probability, and the state it leads to.

    ``state`` is None where the job ends; ``minutes`` of cost are then still to be paid.
    """

    outcome: int
    probability: float
    state: State | None
    minutes: float = 0.0


@dataclass(slots=True)
class Valued:
    """What a state is worth, the step that gives it, and the probability at which it was worked out."""

    value: float
    step: Step
    probability: float


class Play:
    """Plays one job. Remembers the states that it has valued; all candidates share them.

    ``price`` is what a bit costs in this job; ``learned`` the probability with which the play that found it out ended
    on an estimate, 0 where every branch was played to its end.
    """

    def __init__(self, job: Job, budget: Budget | None = None, owed: tuple[str, ...] = ()) -> None:
        self.job, self.rule, self.owed = job, Rule(job), owed
        self.budget = budget or Budget()
        self.known: dict[object, Valued] = {}
        self.price = self.estimated = self.learned = 0.0
        self._choices: dict[object, Choice] = {}

    # -- transitions -----------------------------------------------------------------------------------

    def choice(self, state: State, key: object = None) -> Choice:
        """The rule's view of a state. Help is chosen only where trying repairs one by one is no cheaper either."""
        key = state.key() if key is None else key
        found = self._choices.get(key)
        if found is None:
            self.budget.heed()
            found = self.rule.choose(state)
            if found.step.kind == "help":
                trying, first = self.repairs_only(state, found, self.job.figures.help)
                if trying < self.job.figures.help:
                    found = replace(found, step=self._instead_of_help(found, first))
            self._choices[key] = found
        return found

    def _instead_of_help(self, choice: Choice, first: Step) -> Step:
        """The step with the best ratio of all, the guard left out."""
        check = int(choice.check_ratio.argmax()) if len(choice.check_ratio) else -1
        if check >= 0 and choice.check_ratio[check] > choice.act_ratio[first.place]:
            return Step("check", check)
        return first

    def next_of(self, state: State, step: Step) -> Step:
        """The step that is done now: one that has to come first where there is one."""
        if step.kind == "act":
            table = self.rule.tables.at(state.standing, state.forced)
            shows = self.rule.shows_first(step.place, table, state.ever)
            return step if shows is None else self.next_of(state, Step("check", shows, step.also))
        missing = self.rule.missing(step.place, state.ever) if step.kind == "check" else ()
        return Step("check", missing[0], step.also) if missing else step

    def planned(self, state: State) -> Step:
        """What would be done in a state: what was found best where it was played, else the quick choice."""
        key = state.key()
        known = self.known.get(key)
        return known.step if known is not None else self.choice(state, key).step

    def branches(self, state: State, step: Step) -> tuple[float, list[Branch]]:
        """Minutes of cost of a step, and all that it can lead to. ``step`` is one that can be done now."""
        if step.kind == "help":
            return self.job.figures.help, []
        if step.kind == "check":
            return self._check(state, step)
        return self._prove(state) if step.kind == "prove" else self._act(state, step)

    def _check(self, state: State, step: Step) -> tuple[float, list[Branch]]:
        job, c = self.job, step.place
        table = self.rule.tables.at(state.standing, state.forced)
        cost = table.check(c, step.also) if step.also else table.checks[c]
        assert cost is not None
        joint = state.weights[:, None] * job.shown[:, job.first[c] : job.first[c + 1]]
        forced = state.forced if job.checks[c].kind == "ask" else ()
        done, ever = state.done | {c}, state.ever | {c}
        found = []
        for place, chance in enumerate(joint.sum(axis=0).tolist()):
            if chance > FORGOTTEN:
                after = State(joint[:, place] / chance, cost.after, forced, done, ever)
                found.append(Branch(place, chance, after))
        return cost.minutes, found

    def _act(self, state: State, step: Step) -> tuple[float, list[Branch]]:
        job, a = self.job, step.place
        table = self.rule.tables.at(state.standing, state.forced)
        cost = table.action(a, step.also) if step.also else table.actions[a]
        assert cost is not None
        left = job.after_failed(a, state.weights)
        comes_back = float(job.comes_back[a] @ state.weights)
        return cost.minutes, self._proved(left, comes_back, cost.after, state.ever)

    def _prove(self, state: State) -> tuple[float, list[Branch]]:
        """The follow-ups owed for an action that was done already."""
        job, minutes, standing = self.job, 0.0, state.standing
        for place, name in enumerate(self.owed):
            forced = () if place else state.forced
            cost, standing = job.floor.step(standing, job.floor.book.checks[name], forced)
            minutes += cost
        left = state.weights * job.proof_fails
        return minutes, self._proved(left, float((state.weights - left) @ job.stands), standing, state.ever)

    def _proved(self, left: Floats, comes_back: float, standing: Standing, ever: frozenset[int]) -> list[Branch]:
        """Passed and failed proof; ``left`` are the weights where it shows the squawk."""
        fails = float(left.sum())
        found = []
        if fails < 1.0 - FORGOTTEN:
            comeback = self.job.figures.comeback * comes_back / (1.0 - fails)
            found.append(Branch(0, 1.0 - fails, None, self.job.floor.restoring(standing) + comeback))
        if fails > FORGOTTEN:
            found.append(Branch(1, fails, State(left / fails, standing, (), ever & self.job.lasting, ever)))
        return found

    # -- estimates -------------------------------------------------------------------------------------

    def estimate(self, choice: Choice) -> float:
        """What a state is taken to cost without playing it: the floor, and what is unknown at its price."""
        paid = 1.0 / choice.ratio if choice.ratio > 0 else np.inf
        return (
            choice.floor + choice.unknown * max(UNKNOWN_PRICE * paid, self.price)
            if choice.unknown > 0
            else choice.floor
        )

    def learn_price(self, state: State, step: Step) -> None:
        """Work out the price of a bit in this job by playing one step.

        The best ratio of bits to minutes is that of the cheapest check left. When a question for a minute is open, it
        says nothing about the jacks that come later; what the bits cost when the job was played does.
        """
        choice = self.choice(state)
        if choice.unknown <= 0 or step.kind == "help":
            return
        trying, _ = self.repairs_only(state, choice, np.inf)
        self.price = max(min(trying, self.job.figures.help) - choice.floor, 0.0) / choice.unknown
        self.of_step(state, step, PRACTICE)
        paid = weight = 0.0
        for key, known in self.known.items():
            seen = self._choices.get(key)
            if seen is not None and known.probability >= CUT:
                paid += known.probability * max(known.value - seen.floor, 0.0)
                weight += known.probability * seen.unknown
        if weight > 0:
            self.price = paid / weight
        self.learned, self.known = min(self.estimated / PRACTICE, 1.0), {}

    # -- values ----------------------------------------------------------------------------------------

    def of_step(self, state: State, step: Step, probability: float = 1.0) -> float:
        """Expected cost of taking a step and playing on. Raises OutOfTime."""
        minutes, branches = self.branches(state, self.next_of(state, step))
        for branch in branches:
            rest = branch.minutes
            if branch.state is not None:
                rest = self.value(branch.state, probability * branch.probability)
            minutes += branch.probability * rest
        return minutes

    def value(self, state: State, probability: float) -> float:
        """Expected cost of the rest of the job from a state reached with this probability. Raises OutOfTime."""
        key = state.key()
        known = self.known.get(key)
        if known is not None and (probability < CUT or known.probability >= 0.5 * probability):
            return known.value
        self.budget.spend()
        choice = self.choice(state, key)
        value, step = self.job.figures.help, HELP
        if probability < (CUT if choice.step.kind != "act" else LEAST_FOLLOWED):
            estimate = self.estimate(choice)
            self.estimated += probability
            if estimate < value:
                value, step = estimate, choice.step
        elif choice.step.kind != "help":
            followed = self.of_step(state, choice.step, probability)
            if followed < value:
                value, step = followed, choice.step
        trying, first = self.repairs_only(state, choice, value)
        if trying < value:
            value, step = trying, first
        self.known[key] = Valued(value, step, probability)
        return value

    def repairs_only(self, state: State, choice: Choice, at_most: float) -> tuple[float, Step]:
        """Expected cost of trying one repair after another, each proved, with help once that is cheaper.

        Repairs go by falling probability / cost. Returns the cost and the first repair; gives up where it passes
        ``at_most`` for sure.
        """
        job, table = self.job, choice.table
        ratio = choice.helps / np.maximum(choice.act_minutes, 1.0)
        order = np.argsort(-ratio, kind="stable")
        weights, left, spent = state.weights, 1.0, 0.0
        best, first = np.inf, HELP
        if len(order):
            # A first try that is wrong costs its labour and its proof, whatever comes after.
            likeliest = int(order[0])
            if choice.floor + (1.0 - float(choice.helps[likeliest])) * float(job.labour[likeliest]) >= at_most:
                return best, first
        for a in order.tolist():
            cost = self.rule.action_cost(a, table, state.ever)
            if ratio[a] <= 1e-9 or cost is None or spent + float(job.least @ weights) >= min(at_most, best):
                break
            if first is HELP:
                first = Step("act", a)
            after = job.after_failed(a, weights)
            now, left = left, float(np.add.reduce(after))
            spent += now * cost.minutes + (now - left) * job.floor.restoring(cost.after)
            spent += job.figures.comeback * float(job.comes_back[a] @ weights)
            best = min(best, spent + left * job.figures.help)
            weights, table = after, self.rule.tables.at(cost.after, ())
            if left < FORGOTTEN:
                break
        return best, first


def candidates(choice: Choice, most_checks: int = 6, most_acts: int = 2) -> Iterator[Step]:
    """The steps worth playing: the quick choice first, then the best checks and repairs by their ratio."""
    if choice.step.kind != "help":
        yield choice.step
    seen = {choice.step}
    for kind, ratio, most in (("check", choice.check_ratio, most_checks), ("act", choice.act_ratio, most_acts)):
        for index in _largest(ratio, most):
            step = Step(kind, index)
            if step not in seen:
                seen.add(step)
                yield step


def _largest(values: Floats, most: int) -> list[int]:
    order = np.argsort(-values, kind="stable")[:most]
    return [int(i) for i in order if values[i] > 0]
