"""What the rest of the job would take: the plan followed over its outcomes, in minutes on the clock."""

from __future__ import annotations

from collections.abc import Iterator
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


@dataclass(frozen=True, slots=True)
class _Way:
    """How a state was reached: with what probability, what it took, in minutes on the clock and of cost; its depth."""

    chance: float
    so_far: _Part
    cost: float
    depth: int


class Forecast:
    """Follows one plan: what was found best where a state was played, else the quick choice."""

    def __init__(self, play: Play, state: State, step: Step, cut: float) -> None:
        self.play, self.job, self.cut = play, play.job, cut
        self.book = play.job.floor.book
        self.ends: list[tuple[float, _Part]] = []
        self.left: list[tuple[float, _Part, float]] = []
        # What care, waits and comebacks add to the minutes on the clock, over the ends by a passed proof.
        self.proved = self.beside = 0.0
        self.help = 0.0
        self.people = 1
        self.equipment: dict[str, float] = {}
        self.conditions: dict[str, float] = {}
        self._follow(state, step)

    def to_go(self) -> ToGo:
        """Mean, median and 80 % of the minutes, with the mean split by kind."""
        ends = [*self.ends, *self._improbable()]
        chances = np.array([chance for chance, _ in ends])
        chances = chances / chances.sum()
        parts = np.array([part.minutes for _, part in ends])
        whole = parts.sum(axis=1)
        order = np.argsort(whole, kind="stable")
        reached = np.cumsum(chances[order])
        p50, p80 = (float(whole[order][min(int(np.searchsorted(reached, q)), len(order) - 1)]) for q in (0.5, 0.8))
        split = dict(zip(KINDS, (chances @ parts).tolist(), strict=True))
        money = None
        if self.job.figures.hourly_rate is not None:
            money = float(chances @ np.array([part.money for _, part in ends]))
        return ToGo(float(chances @ whole), p50, p80, split, money, self.help)

    def fetch(self) -> Fetch:
        """People, equipment and conditions that the next few steps are likely to want."""
        equipment = tuple(name for name, chance in self.equipment.items() if chance >= NEAR_CHANCE)
        conditions = tuple(name for name, chance in self.conditions.items() if chance >= NEAR_CHANCE)
        return Fetch(self.people, equipment, conditions)

    # -- following -------------------------------------------------------------------------------------

    def _follow(self, state: State, step: Step) -> None:
        begin = _Way(1.0, _Part(np.zeros(len(KINDS)), 0.0), 0.0, 1)
        open_ends = [(state, step, begin)]
        while open_ends:
            state, step, way = open_ends.pop()
            if step.kind == "help":
                self.help += way.chance
                self._end(way, way.chance, self._helping())
                continue
            step = self.play.next_of(state, step)
            spent, after = self._spent(state, step)
            if step.kind != "prove":
                self._remember(state, step, way.chance, way.depth)
            so_far = _Part(way.so_far.minutes + spent.minutes, way.so_far.money + spent.money)
            cost, branches = self.play.branches(state, step)
            for branch in branches:
                reached = way.chance * branch.probability
                onward = _Way(reached, so_far, way.cost + cost, way.depth + 1)
                if branch.state is None:
                    last = self._restoring(after)
                    clock = float((so_far.minutes + last.minutes).sum())
                    self.proved += reached
                    self.beside += reached * (onward.cost + branch.minutes - clock)
                    self._end(onward, reached, last)
                elif reached < self.cut:
                    self.left.append((reached, so_far, self._value(branch.state)))
                else:
                    open_ends.append((branch.state, self.play.planned(branch.state), onward))

    def _end(self, way: _Way, chance: float, last: _Part) -> None:
        self.ends.append((chance, _Part(way.so_far.minutes + last.minutes, way.so_far.money + last.money)))

    def _value(self, state: State) -> float:
        """What a branch too improbable to follow is taken to cost."""
        known = self.play.known.get(state.key())
        value = known.value if known is not None else self.play.estimate(self.play.choice(state))
        return min(value, self.job.figures.help)

    def _improbable(self) -> Iterator[tuple[float, _Part]]:
        """Ends of the branches not followed: their cost, less what cost is more than minutes where it was followed."""
        more = self.beside / self.proved if self.proved > 0 else 0.0
        for chance, so_far, value in self.left:
            left = max(value - more, 0.0)
            minutes = so_far.minutes.copy()
            minutes[REPAIRING] += left
            yield chance, _Part(minutes, so_far.money + self._labour(left, 1))

    def _remember(self, state: State, step: Step, chance: float, depth: int) -> None:
        """What the step wants, for the walk to the tool crib."""
        if depth > NEAR_STEPS:
            return
        item = self.job.item(step.kind, step.place)
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
        item = self.job.item(step.kind, step.place)
        move = self._move(state, item, step.also)
        minutes[SETTING_UP] = move.minutes
        money = self._move_money(move) + self._labour(item.minutes, item.people)
        if isinstance(item, Check):
            minutes[ASKING if item.kind == "ask" else CHECKING] = item.minutes
            return _Part(minutes, money), move.after
        minutes[REPAIRING] = item.minutes
        proving, standing = self._proving(move.after, self.job.floor.due_after((item.id,)), ())
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
