"""What the rest of the job would take: the plan followed over its outcomes, in minutes on the clock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from faulttree.advice.choice import State, Step
from faulttree.advice.floor import Standing
from faulttree.advice.rollout import Play
from faulttree.advice.situation import KINDS, Fetch, ToGo
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Check
from faulttree.conditions import Move

ASKING, CHECKING, SETTING_UP, REPAIRING, PROVING, HELPING = range(len(KINDS))
NEAR_STEPS = 4
NEAR_CHANCE = 0.25
"""What to fetch: for so many steps ahead, where a step is at least this likely."""


@dataclass(frozen=True, slots=True)
class _Part:
    """Minutes on the clock by kind (n_kinds,) and money of something done."""

    minutes: Floats
    money: float


class Forecast:
    """Follows one plan: what was found best where a state was played, else the quick choice."""

    def __init__(self, play: Play, state: State, step: Step, cut: float) -> None:
        self.play, self.job, self.cut = play, play.job, cut
        self.book = play.job.floor.book
        self.ends: list[tuple[float, _Part]] = []
        self.help = 0.0
        self.people = 1
        self.equipment: dict[str, float] = {}
        self.conditions: dict[str, float] = {}
        self._follow(state, step)

    def to_go(self) -> ToGo:
        """Mean, median and 80 % of the minutes, with the mean split by kind."""
        chances = np.array([chance for chance, _ in self.ends])
        chances = chances / chances.sum()
        parts = np.array([part.minutes for _, part in self.ends])
        whole = parts.sum(axis=1)
        order = np.argsort(whole, kind="stable")
        reached = np.cumsum(chances[order])
        p50, p80 = (float(whole[order][min(int(np.searchsorted(reached, q)), len(order) - 1)]) for q in (0.5, 0.8))
        split = dict(zip(KINDS, (chances @ parts).tolist(), strict=True))
        money = None
        if self.job.figures.hourly_rate is not None:
            money = float(chances @ np.array([part.money for _, part in self.ends]))
        return ToGo(float(chances @ whole), p50, p80, split, money, self.help)

    def fetch(self) -> Fetch:
        """People, equipment and conditions that the next few steps are likely to want."""
        equipment = tuple(name for name, chance in self.equipment.items() if chance >= NEAR_CHANCE)
        conditions = tuple(name for name, chance in self.conditions.items() if chance >= NEAR_CHANCE)
        return Fetch(self.people, equipment, conditions)

    # -- following -------------------------------------------------------------------------------------

    def _follow(self, state: State, step: Step) -> None:
        nothing = _Part(np.zeros(len(KINDS)), 0.0)
        open_ends = [(state, step, 1.0, nothing, 1)]
        while open_ends:
            state, step, chance, so_far, depth = open_ends.pop()
            if step.kind == "help":
                self.help += chance
                self._end(chance, so_far, self._helping())
                continue
            step = self.play.next_of(state, step)
            spent, after = self._spent(state, step)
            if step.kind != "prove":
                self._remember(state, step, chance, depth)
            so_far = _Part(so_far.minutes + spent.minutes, so_far.money + spent.money)
            for branch in self.play.branches(state, step)[1]:
                reached = chance * branch.probability
                if branch.state is None:
                    self._end(reached, so_far, self._restoring(after))
                elif reached < self.cut:
                    self._end(reached, so_far, self._rest(branch.state))
                else:
                    open_ends.append((branch.state, self.play.planned(branch.state), reached, so_far, depth + 1))

    def _end(self, chance: float, so_far: _Part, last: _Part) -> None:
        self.ends.append((chance, _Part(so_far.minutes + last.minutes, so_far.money + last.money)))

    def _rest(self, state: State) -> _Part:
        """A branch too improbable to follow, by what the rule thinks that it costs."""
        known = self.play.known.get(state.key())
        value = known.value if known is not None else self.play.choice(state).estimate
        minutes = np.zeros(len(KINDS))
        minutes[REPAIRING] = min(value, self.job.figures.help)
        return _Part(minutes, self._labour(minutes[REPAIRING], 1))

    def _remember(self, state: State, step: Step, chance: float, depth: int) -> None:
        """What the step wants, for the walk to the tool crib."""
        if depth > NEAR_STEPS:
            return
        item = self.job.checks[step.place] if step.kind == "check" else self.job.actions[step.place]
        move = self._move(state, item, step.also)
        touched = [self.book.conditions[c] for c in move.on]
        if chance >= NEAR_CHANCE:
            self.people = max([self.people, item.people, *(c.people for c in touched)])
        for name in dict.fromkeys([*item.equipment, *(e for c in touched for e in c.equipment)]):
            self.equipment[name] = self.equipment.get(name, 0.0) + chance
        for name in move.on:
            self.conditions[name] = self.conditions.get(name, 0.0) + chance

    # -- minutes on the clock --------------------------------------------------------------------------

    def _move(self, state: State, item: Check | Action, also: tuple[str, ...]) -> Move:
        forced = () if isinstance(item, Check) and item.kind == "ask" else state.forced
        return self.job.floor.moves.move(state.standing, (*item.needs, *forced, *also))

    def _spent(self, state: State, step: Step) -> tuple[_Part, Standing]:
        minutes = np.zeros(len(KINDS))
        if step.kind == "prove":
            return self._proving(state.standing, self.play.owed, state.forced)
        item = self.job.checks[step.place] if step.kind == "check" else self.job.actions[step.place]
        move = self._move(state, item, step.also)
        minutes[SETTING_UP] = move.minutes
        money = self._move_money(move) + self._labour(item.minutes, item.people)
        if isinstance(item, Check):
            minutes[ASKING if item.kind == "ask" else CHECKING] = item.minutes
            return _Part(minutes, money), move.after
        minutes[REPAIRING] = item.minutes
        proving, standing = self._proving(move.after, self.job.floor.due_after([item.id]), ())
        money += self.job.figures.prices.get(item.id, 0.0) + proving.money
        return _Part(minutes + proving.minutes, money), standing

    def _proving(self, standing: Standing, names: tuple[str, ...], forced: tuple[str, ...]) -> tuple[_Part, Standing]:
        minutes, money = np.zeros(len(KINDS)), 0.0
        for name in names:
            check = self.book.checks[name]
            move = self.job.floor.moves.move(standing, (*check.needs, *forced))
            minutes[PROVING] += check.minutes
            minutes[SETTING_UP] += move.minutes
            money += self._move_money(move) + self._labour(check.minutes, check.people)
            standing, forced = move.after, ()
        return _Part(minutes, money), standing

    def _restoring(self, standing: Standing) -> _Part:
        move = self.job.floor.moves.restore_all(standing)
        minutes = np.zeros(len(KINDS))
        minutes[SETTING_UP] = move.minutes
        return _Part(minutes, self._move_money(move))

    def _helping(self) -> _Part:
        minutes = np.zeros(len(KINDS))
        minutes[HELPING] = self.job.figures.help
        return _Part(minutes, self._labour(self.job.figures.help, 1))

    def _move_money(self, move: Move) -> float:
        listed = self.book.conditions
        restored = sum(self._labour(listed[c].restore_minutes, listed[c].people) for c in move.off)
        return restored + sum(self._labour(listed[c].set_up_minutes, listed[c].people) for c in move.on)

    def _labour(self, minutes: float, people: int) -> float:
        return minutes * people * (self.job.figures.hourly_rate or 0.0) / 60.0
