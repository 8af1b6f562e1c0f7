"""A drill as it is played: the aircraft, the pilot, the helper. Acts in, what they bring out; no clock, no screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from faulttree.advice import follow_ups
from faulttree.advice.cautions import in_order, of_action, of_check, of_conditions
from faulttree.advice.situation import Situation
from faulttree.belief import Evidence, Reported
from faulttree.book.model import Action, Check, Condition
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.drill.acts import Act, Stop, Told
from faulttree.drill.bench import Bench
from faulttree.drill.chance import Stream
from faulttree.drill.drawing import Setting
from faulttree.drill.gear import value_for
from faulttree.drill.stops import Guard
from faulttree.errors import BadCase, BadCondition

MOST_ACTS = 300
"""After so many acts the drill is taken off the learner's hands: a specialist is called in."""

TRUE_ASKED, WRONG_ASKED = 3, 3
"""Cautions that apply, and that do not, in one list at most."""

SOLVED, COMES_BACK, HELP = "solved", "comes back", "help"
"""How a drill ends: proved and nothing stands; proved while the cause was asleep; handed over."""


@dataclass(frozen=True, slots=True)
class Quiz:
    """Which cautions apply? ``asked`` as they are listed, none where there is nothing to name; ``true`` those of them
    that do; ``shown`` all that hold, of which ``new`` were not read in this drill."""

    asked: tuple[str, ...]
    true: tuple[str, ...]
    shown: tuple[str, ...]
    new: tuple[str, ...]


class Play:
    """One drill being worked. ``setting`` and the acts taken so far are all there is to it.

    ``minutes`` on the clock by the book, help's included, ``waits`` in hours; ``lost`` minutes that a squawk costs
    which comes back. ``ended`` is how it ended, empty as long as it has not; ``whys`` reasons
    by the place of an act, where the advisor plays.
    """

    def __init__(self, bench: Bench, setting: Setting) -> None:
        self.bench, self.book, self.setting = bench, bench.book, setting
        self.gear = bench.drawing.gear(setting)
        self.acts: list[Act] = []
        self.whys: dict[int, str] = {}
        self.told: list[Told] = []
        self.minutes = self.waits = self.lost = 0.0
        self.repairs: list[str] = []
        self.cleared: list[str] = []
        self.ended = ""
        self._read: set[str] = set()
        self._entries: list[CaseEntry] = []
        for symptom in setting.symptoms:
            self._add("symptom", symptom=symptom, present=True)

    # -- how things stand ------------------------------------------------------------------------------

    @property
    def evidence(self) -> Evidence:
        """What is known so far, as belief wants it."""
        found = [entry for entry in self.state.evidence if not isinstance(entry, Reported)]
        return self.setting.evidence(found)

    @property
    def situation(self) -> Situation:
        """Where the job stands, as advice wants it."""
        return self.state.situation(self.book)

    @property
    def hazards(self) -> int:
        """Risky set-ups so far."""
        done = [told.act for told in self.told if told.stop is None and told.act.kind == "set-up"]
        return sum(self.book.conditions[act.id].hazard for act in done)

    def needs_of(self, act: Act) -> tuple[str, ...]:
        """Cautions that hold for an act: of the step, its conditions, its parts; empty for what touches nothing."""
        book, moves = self.book, self.bench.advisor.moves
        if act.kind in ("set-up", "restore"):
            return in_order(book, of_conditions(book, [act.id]))
        if act.kind == "check":
            check = book.checks[act.id]
            conditions = sorted(moves.closure(check.needs))
            return of_check(book, self.bench.advisor.gates, check, conditions, self.setting.symptoms)
        if act.kind == "repair":
            action = book.actions[act.id]
            return of_action(book, action, sorted(moves.closure(action.needs)), self.setting.symptoms)
        return ()

    def quiz(self, act: Act) -> Quiz | None:
        """Which cautions the learner has to name before an act; None where there is nothing new in it.

        Those of the step itself come first, then those of its conditions and parts; the wrong ones hang on other work.
        A look touches no part, so that those of parts are shown for it and not asked.
        """
        if act.kind == "restore":
            return None  # the same that were named when it was set up
        if act.id in self.book.checks and self.book.checks[act.id].kind == "ask":
            return None  # to ask the pilot puts no hand near the gear
        holding = self.needs_of(act)
        new = [c for c in holding if self.bench.binds(c) and c not in self._read]
        if not new:
            return None
        unread = tuple(c for c in holding if c not in self._read)
        own, fair = self._own(act), self._fair(act)
        true = sorted((c for c in new if c in fair), key=lambda c: c not in own)[:TRUE_ASKED]
        if not true:
            return Quiz((), (), holding, unread)
        stream = Stream(self.setting.seed, "cautions", act.kind, act.id)
        others = [c for c in self.bench.cautions_of_work if c not in holding]
        wrong = stream.some(WRONG_ASKED, others)
        asked = stream.some(len(true) + len(wrong), sorted([*true, *wrong]))
        return Quiz(asked, tuple(true), holding, unread)

    def _fair(self, act: Act) -> frozenset[str]:
        """Cautions that a learner can be asked to name: that hang on what is done, and that can apply as things are."""
        found = self.needs_of(act)
        if act.kind == "check" and self.book.checks[act.id].kind == "look":
            check = self.book.checks[act.id]
            closure = self.bench.advisor.moves.closure(check.needs)
            found = (*check.cautions, *of_conditions(self.book, closure))
        listed, given = self.bench.practice.quizzed, self.state.opening
        return frozenset(c for c in found if c not in listed or listed[c].applies(given))

    def _own(self, act: Act) -> tuple[str, ...]:
        items: Mapping[str, Mapping[str, Check | Action | Condition]] = {
            "check": self.book.checks, "repair": self.book.actions, "set-up": self.book.conditions,
        }  # fmt: skip
        return tuple(items[act.kind][act.id].cautions)

    def wanting(self, act: Act) -> tuple[Act, ...]:
        """What has to be put back and set up before a check or repair, in this order; nothing where that cannot be."""
        items: Mapping[str, Mapping[str, Check | Action]] = {"check": self.book.checks, "repair": self.book.actions}
        if act.id not in items.get(act.kind, {}):
            return ()
        moves, stands = self.bench.advisor.moves, self.state.standing
        try:
            move = moves.move(stands, items[act.kind][act.id].needs)
        except BadCondition:
            return ()
        steps = moves.step_by_step(stands, move)
        return tuple(Act("set-up" if step.sets_up else "restore", step.condition) for step in steps)

    def due_after(self, action: str) -> tuple[str, ...]:
        """The checks that are due after a repair."""
        return tuple(follow_ups(self.book, [action], self.state.proofs(self.book), self.state.ever_done))

    # -- acts ------------------------------------------------------------------------------------------

    def take(self, act: Act) -> Told:
        """Does an act. Raises BadCase where the drill has ended or the act names nothing of the book."""
        if self.ended:
            raise BadCase("this drill has ended")
        told = self._taken(act)
        self.acts.append(act)
        self.told.append(told)
        self.minutes += told.minutes
        self.waits += told.waits
        if len(self.acts) >= MOST_ACTS and not self.ended:
            self._call_help()
        return told

    def stop(self, act: Act) -> Stop | None:
        """Why an act would be stopped, None where it would not. Raises BadCase."""
        return Guard(self.bench, self.state, bool(self.repairs), self.evidence).stop(act)

    def replay(self, acts: Iterable[Act]) -> Play:
        """Takes acts one after the other; returns itself."""
        for act in acts:
            self.take(act)
        return self

    def _taken(self, act: Act) -> Told:
        stop = self.stop(act)
        if stop is not None:
            return Told(act, stop=stop)
        if act.kind in ("rule-out", "rule-in"):
            return self._mark(act)
        if act.kind == "judge":
            return Told(act, misjudged=self.state.last_shown.get(act.id) != act.cause)
        if act.kind == "opening":
            return self._opening(act)
        if act.kind == "restore-all":
            return self._put_back(act)
        if act.kind == "finish":
            self.ended = COMES_BACK if self.gear.faulty else SOLVED
            self.lost = self.bench.advisor.figures.comeback if self.gear.faulty else 0.0
            return Told(act)
        if act.kind == "help":
            self._call_help()
            return Told(act)
        return self._step(act)

    def _step(self, act: Act) -> Told:
        """Something done to the aircraft, or a question to the pilot, with the cautions that were named for it."""
        quiz, missed, wrong = self.quiz(act), tuple[str, ...](), tuple[str, ...]()
        if quiz is not None:
            missed = tuple(c for c in quiz.true if c not in act.claims)
            wrong = tuple(c for c in act.claims if c not in quiz.shown)
            self._read.update(quiz.shown)
        done = {"check": self._check, "set-up": self._set_up, "restore": self._restore, "repair": self._repair}
        return replace(done[act.kind](act), missed=missed, wrong=wrong)

    def _check(self, act: Act) -> Told:
        check = self.book.checks[act.id]
        outcome = self._fixed(act.id) or self.gear.show(act.id)
        value = value_for(self.book, self.setting.seed, act.id, outcome, len(self.acts))
        self._add("answer", check=act.id, outcome=outcome, sure=True)
        return Told(act, check.minutes, check.waits, outcome=outcome, value=value)

    def _fixed(self, check: str) -> str | None:
        """What a scenario says that a check shows, as long as nothing was repaired."""
        scenario = self.bench.practice.scenarios.get(self.setting.scenario)
        return None if scenario is None or self.repairs else scenario.answers.get(check)

    def _set_up(self, act: Act) -> Told:
        condition = self.book.conditions[act.id]
        self._add("set-up", condition=act.id)
        return Told(act, condition.set_up_minutes, condition.waits)

    def _restore(self, act: Act) -> Told:
        self._add("restored", condition=act.id)
        return Told(act, self.book.conditions[act.id].restore_minutes)

    def _put_back(self, act: Act) -> Told:
        move = self.bench.advisor.moves.restore_all(self.state.standing)
        for name in move.off:
            self._add("restored", condition=name)
        return Told(act, move.minutes)

    def _repair(self, act: Act) -> Told:
        action = self.book.actions[act.id]
        due = self.due_after(act.id)
        unplanned = tuple(check for check in due if check not in act.follow_up)
        needless = tuple(check for check in act.follow_up if check not in due)
        wasted = self.gear.now.all.isdisjoint(action.corrects)
        gone = self.gear.repair(act.id)
        self.repairs.append(act.id)
        self._add("did", action=act.id)
        return Told(
            act, action.minutes, action.waits, unplanned=unplanned, needless=needless, due=due, wasted=wasted,
            held=wasted or bool(gone),
        )  # fmt: skip

    def _opening(self, act: Act) -> Told:
        question = next((q for q in self.book.opening if q.id == act.id), None)
        if question is None:
            raise BadCase(f"this book asks nothing called {act.id!r}")
        answer = next(a for a in question.answers if a.id == self.setting.opening[act.id])
        self._add("opening", question=act.id, answer=answer.id)
        return Told(act, outcome=answer.id, says=answer.says or "")

    def _mark(self, act: Act) -> Told:
        if act.id not in self.book.components:
            raise BadCase(f"this book has no part called {act.id!r}")
        if act.kind == "rule-out" and act.id not in self.cleared:
            self.cleared.append(act.id)
        elif act.kind == "rule-in" and act.id in self.cleared:
            self.cleared.remove(act.id)
        return Told(act)

    def _call_help(self) -> None:
        self.minutes += self.bench.advisor.figures.help
        self.ended = HELP

    def _add(self, kind: str, **data: Any) -> None:
        self._entries.append(CaseEntry(len(self._entries) + 1, "", "learner", kind, data))
        self.state: CaseState = add_up(self.book, self._entries)
