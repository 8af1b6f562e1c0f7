"""Suggestions made of steps in play: their set-ups, people, equipment, cautions and outcomes in the book's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

from faulttree.advice import cautions
from faulttree.advice.barring import bars
from faulttree.advice.choice import Choice, State, Step
from faulttree.advice.floor import Floor
from faulttree.advice.job import Job
from faulttree.advice.rollout import Play
from faulttree.advice.situation import OutcomeAhead, Situation, Suggestion
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Book, Check
from faulttree.conditions import Move
from faulttree.errors import BadCondition
from faulttree.graph.gates import Gates

HELP_NAME = "Call in a specialist"


class Steps:
    """What steps take in one situation, and the suggestions that tell of them."""

    def __init__(self, book: Book, gates: Gates, floor: Floor, situation: Situation, symptoms: Sequence[str]) -> None:
        self.book, self.gates, self.floor = book, gates, floor
        self.moves, self.situation, self.symptoms = floor.moves, situation, symptoms
        self._hindered: dict[str, tuple[str, ...] | None] = {}

    def move(self, item: Check | Action, also: tuple[str, ...] = ()) -> Move:
        """From what stands to what a step needs, forced conditions included. Raises BadCondition."""
        forced = () if isinstance(item, Check) and item.kind == "ask" else self.situation.first
        return self.moves.move(self.situation.standing, (*item.needs, *forced, *also))

    def wants(self, item: Check | Action, also: tuple[str, ...] = ()) -> tuple[int, tuple[str, ...]]:
        """People and equipment for a step with its setting up. Raises BadCondition."""
        return self._wants(item, self.move(item, also))

    def _wants(self, item: Check | Action, move: Move) -> tuple[int, tuple[str, ...]]:
        touched = [self.book.conditions[c] for c in move.on]
        stands = [self.book.conditions[c] for c in sorted(self.moves.closure(item.needs))]
        people = max([item.people, *(c.people for c in (*touched, *stands))])
        return people, tuple(dict.fromkeys([*item.equipment, *(e for c in touched for e in c.equipment)]))

    def in_the_way(self, item: Check | Action) -> tuple[str, ...] | None:
        """What keeps a step from being done here: equipment lacking, ``people`` too few; None: it cannot be at all."""
        if item.id not in self._hindered:
            self._hindered[item.id] = self._hinders(item)
        return self._hindered[item.id]

    def _hinders(self, item: Check | Action) -> tuple[str, ...] | None:
        if self.barred(item):
            return None
        try:
            move = self.move(item)
        except BadCondition:
            return None
        if not all(self.book.conditions[c].proposed for c in move.on):
            return None
        if self.situation.people is None and not self.situation.lacking:
            return ()
        people, equipment = self._wants(item, move)
        few = self.situation.people is not None and people > self.situation.people
        return (*(("people",) if few else ()), *(e for e in equipment if e in self.situation.lacking))

    def barred(self, item: Check | Action) -> bool:
        """Whether something found speaks against a condition that a step needs."""
        return bool(self._lifted_by(item))

    def _lifted_by(self, item: Check | Action) -> tuple[str, ...]:
        """For each finding that keeps a step away, the check that can lift it: its own, or one that it names."""
        needs = self.moves.closure(item.needs)
        return tuple(lifts for barred, lifts in self._bars if not needs.isdisjoint(barred))

    @cached_property
    def _bars(self) -> list[tuple[tuple[str, ...], str]]:
        """Conditions that what was found bars, each time with the check that can lift it."""
        return bars(self.book, self.situation.shown)

    def ever_possible(self, item: Check | Action) -> bool:
        """Whether a step could be done if everybody and everything were there."""
        return self.in_the_way(item) is not None

    def possible(self, item: Check | Action) -> bool:
        """Whether a step can be done with what is at hand."""
        return self.in_the_way(item) == ()

    # -- suggestions -----------------------------------------------------------------------------------

    def suggestion(
        self, play: Play, state: State, step: Step, choice: Choice, value: float, played: bool
    ) -> Suggestion:
        """A step in the book's words; ``value`` the minutes that the job will cost by it, ``played`` to its end."""
        worth: dict[str, Any] = {"expected_minutes": value, "refined": played}
        if step.kind == "help":
            return replace(self._help(), **worth)
        now = play.next_of(state, step)
        if now.kind == "act":
            worth |= {"chance": float(choice.success[step.place]), "bits": float(choice.act_bits[step.place])}
            return self._told("act", play.job.actions[step.place], step.also, **worth)
        check = play.job.checks[now.place]
        leads = None if now == step else play.job.item(step.kind, step.place).id
        bits = choice.check_bits[now.place if step.kind == "act" else step.place]
        worth |= {"leads_to": leads, "bits": float(bits)}
        return self._told("ask" if check.kind == "ask" else "check", check, step.also, **worth)

    def with_outcomes(self, suggestion: Suggestion, play: Play, state: State, step: Step) -> Suggestion:
        """The same with what its check may show."""
        now = play.next_of(state, step)
        if now.kind != "check":
            return suggestion
        return replace(suggestion, outcomes=outcomes_ahead(play.job, state.weights, now.place))

    def with_what_follows(self, suggestion: Suggestion, play: Play, state: State, step: Step) -> Suggestion:
        """The same with what would be done next after each outcome of its check."""
        now = play.next_of(state, step)
        if now.kind != "check":
            return suggestion
        after = {branch.outcome: branch.state for branch in play.branches(state, now)[1]}
        names = [self._next_name(play, after.get(place)) for place in range(len(suggestion.outcomes))]
        ahead = tuple(replace(o, then=name) for o, name in zip(suggestion.outcomes, names, strict=True))
        return replace(suggestion, outcomes=ahead)

    def _next_name(self, play: Play, state: State | None) -> str:
        if state is None:
            return ""
        step = play.next_of(state, play.planned(state))
        if step.kind == "help":
            return HELP_NAME
        return (play.job.checks if step.kind == "check" else play.job.actions)[step.place].name

    def owed(self, job: Job, weights: Floats) -> list[Suggestion]:
        """The follow-ups that are due, in order, up to one that has to wait for another of them."""
        suggestions: list[Suggestion] = []
        known = self.situation.ever | self.situation.done
        for name in self.situation.owed:
            check = self.book.checks[name]
            if not known.issuperset(check.after):
                break
            if self.barred(check):
                there = {s.id for s in suggestions}
                suggestions += [self._due(job, weights, c) for c in self._lifting(check) if c.id not in there]
                break
            suggestions.append(self._due(job, weights, check))
        return suggestions

    def owes_what_cannot_be(self) -> bool:
        """Whether the follow-up due next is barred by something that was looked at since the repair and found bad.

        Or cannot stand together with what has to stand before anything else: a leg in doubt is supported first, and
        power into the gear bars that. Other steps come first then, which support it.
        """
        due = next((self.book.checks[name] for name in self.situation.owed), None)
        if due is None:
            return False
        forced = self.moves.conflict(self.moves.closure((*due.needs, *self.situation.first)))
        return forced is not None or not self.situation.done.isdisjoint(self._lifted_by(due))

    def _lifting(self, check: Check) -> list[Check]:
        """The checks that can lift what bars a check, of those that can be done."""
        found = [self.book.checks[name] for name in dict.fromkeys(self._lifted_by(check))]
        return [each for each in found if each.id not in self.situation.done and self.ever_possible(each)]

    def _due(self, job: Job, weights: Floats, check: Check) -> Suggestion:
        """A follow-up with what it may show."""
        shown = tuple(
            OutcomeAhead(outcome.id, outcome.label, float(chance), None)
            for outcome, chance in zip(check.outcomes, weights @ job.rows.columns([check]), strict=True)
        )
        return self._told("ask" if check.kind == "ask" else "check", check, owed=True, outcomes=shown)

    def _told(self, kind: str, item: Check | Action, also: tuple[str, ...] = (), **more: Any) -> Suggestion:
        """A step with what it takes, and ``more`` of what a suggestion has."""
        move = self.move(item, also)
        people, equipment = self._wants(item, move)
        conditions = [*move.off, *move.on, *sorted(self.moves.closure(item.needs) - set(move.on))]
        if isinstance(item, Check):
            shown = cautions.of_check(self.book, self.gates, item, conditions, self.symptoms)
        else:
            shown = cautions.of_action(self.book, item, conditions, self.symptoms)
        return Suggestion(
            kind=kind, id=item.id, name=item.name, minutes_now=move.minutes + item.minutes, people=people,
            waits=move.waits + item.waits, equipment=equipment, needs=item.needs, to_set_up=move.on,
            to_restore=move.off, cautions=shown, also=also, money_now=self._money(move, item),
            **{"expected_minutes": 0.0, **more},
        )  # fmt: skip

    def _money(self, move: Move, item: Check | Action) -> float | None:
        rate = self.floor.figures.hourly_rate
        if rate is None:
            return None
        listed = self.book.conditions
        minutes = item.minutes * item.people
        minutes += sum(listed[c].restore_minutes * listed[c].people for c in move.off)
        minutes += sum(listed[c].set_up_minutes * listed[c].people for c in move.on)
        return minutes * rate / 60.0 + self.floor.figures.prices.get(item.id, 0.0)

    def _help(self) -> Suggestion:
        minutes, rate = self.floor.figures.help, self.floor.figures.hourly_rate
        return Suggestion(
            kind="help", id="help", name=HELP_NAME, expected_minutes=minutes, minutes_now=minutes,
            money_now=None if rate is None else minutes * rate / 60.0,
        )  # fmt: skip


def outcomes_ahead(job: Job, weights: Floats, c: int) -> tuple[OutcomeAhead, ...]:
    """Each outcome of a check: how likely it is, and the likeliest fault after it."""
    joint = weights[:, None] * job.shown[:, job.first[c] : job.first[c + 1]]
    chances, tops = joint.sum(axis=0), likeliest(job, joint)
    return tuple(
        OutcomeAhead(outcome.id, outcome.label, float(chance), top)
        for outcome, chance, top in zip(job.checks[c].outcomes, chances, tops, strict=True)
    )


def likeliest(job: Job, weights: Floats) -> list[str | None]:
    """The likeliest fault under each column of row weights (n + 1, k); None where it is the unlisted cause."""
    faults = job.rows.frame.space.faults
    if not len(faults):
        return [None] * weights.shape[1]
    by_fault = job.holds @ weights[:-1]
    best = by_fault.argmax(axis=0)
    most = by_fault.max(axis=0)
    return [faults[i] if m > u else None for i, m, u in zip(best, most, weights[-1], strict=True)]
