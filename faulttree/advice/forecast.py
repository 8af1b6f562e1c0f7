"""What the rest of the job would take: the plan followed over its outcomes, in minutes on the clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from faulttree.advice.choice import State, Step
from faulttree.advice.floor import Standing
from faulttree.advice.rollout import Play
from faulttree.advice.situation import KINDS, Fetch, ToGo
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Check
from faulttree.conditions import Move

ASKING, CHECKING, SETTING_UP, REPAIRING, PROVING, HELPING = range(len(KINDS))
LUMPS = 3.0
"""So many times the cut is the chance for which one of the improbable branches stands."""

NEAR_STEPS = 4
NEAR_CHANCE = 0.25
"""What to fetch: for so many steps ahead, where a step is at least this likely."""


@dataclass(frozen=True, slots=True)
class _Part:
    """Minutes on the clock by kind (n_kinds,) and money of something done."""

    minutes: Floats
    money: float


@dataclass(frozen=True, slots=True)
class _Open:
    """A state, how likely it is reached, what it took to come there, and its depth; the step, where it is given."""

    chance: float
    state: State
    so_far: _Part
    depth: int
    step: Step | None = None


class Forecast:
    """Follows one plan: what was found best where a state was played, else the quick choice."""

    def __init__(self, play: Play, state: State, step: Step, cut: float) -> None:
        self.play, self.job, self.cut = play, play.job, cut
        self.book = play.job.floor.book
        self.ends: list[tuple[float, _Part]] = []
        # The same draws for the same job: the minutes to go must not change because somebody looked again.
        self.lump, self.draws = LUMPS * cut, Random(0)
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
        open_ends = [_Open(1.0, state, _Part(np.zeros(len(KINDS)), 0.0), 1, step)]
        improbable: list[_Open] = []
        while open_ends:
            way = open_ends.pop()
            planned = way.step or self.play.planned(way.state)
            if planned.kind == "help":
                self.help += way.chance
                self._end(way, way.chance, self._helping())
            else:
                for onward in self._onward(way, planned):
                    (open_ends if onward.chance >= self.cut else improbable).append(onward)
            if not open_ends:
                open_ends, improbable = self._some_for_all(improbable), []

    def _onward(self, way: _Open, planned: Step) -> Iterator[_Open]:
        """Where a step leads to; the ends of the job among it are taken down."""
        step = self.play.next_of(way.state, planned)
        spent, after = self._spent(way.state, step)
        if step.kind != "prove":
            self._remember(way.state, step, way.chance, way.depth)
        so_far = _Part(way.so_far.minutes + spent.minutes, way.so_far.money + spent.money)
        for branch in self.play.branches(way.state, step)[1]:
            reached = way.chance * branch.probability
            if branch.state is None:
                self._end(replace(way, so_far=so_far), reached, self._restoring(after))
            else:
                yield _Open(reached, branch.state, so_far, way.depth + 1)

    def _some_for_all(self, improbable: list[_Open]) -> list[_Open]:
        """Some of these branches, drawn by their chances, that stand for all of them.

        Too many are improbable to follow each. Drawn so, each counts on the whole as much as it is likely, the long
        ways too, of which most are improbable and which any estimate misjudges. They are drawn evenly from the short
        to the long ones, which spreads the draws.
        """
        whole = sum(each.chance for each in improbable)
        if whole < self.cut:
            return []
        number = max(round(whole / self.lump), 1)
        improbable.sort(key=lambda each: float(each.so_far.minutes.sum()))
        reached = np.cumsum([each.chance for each in improbable])
        marks = (np.arange(number) + self.draws.random()) * reached[-1] / number
        places = np.minimum(np.searchsorted(reached, marks, side="right"), len(improbable) - 1)
        return [replace(improbable[place], chance=whole / number) for place in places]

    def _end(self, way: _Open, chance: float, last: _Part) -> None:
        self.ends.append((chance, _Part(way.so_far.minutes + last.minutes, way.so_far.money + last.money)))

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
