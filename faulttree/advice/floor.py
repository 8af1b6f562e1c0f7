"""The floor: what the job would still cost if the cause were known now."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import permutations
from typing import NamedTuple

from faulttree.advice.progress import follow_ups
from faulttree.advice.situation import Figures
from faulttree.book.model import Action, Book, Check
from faulttree.conditions import Move, Moves
from faulttree.errors import BadCondition

Standing = frozenset[str]


class Cost(NamedTuple):
    """Minutes of cost of a step, and what stands after it."""

    minutes: float
    after: Standing


MOST_ORDERED = 3
"""Up to this many actions every order is tried; more are taken as they come (a plan of four is rare)."""


class Floor:
    """Costs of known work from any set of standing conditions, in minutes of cost. Remembers what it worked out.

    ``like`` is another floor of the same book and figures: what moving costs is the same whatever proof ends the job.
    """

    def __init__(
        self, book: Book, moves: Moves, figures: Figures, proofs: tuple[str, ...], like: Floor | None = None
    ) -> None:
        self.book, self.moves, self.figures, self.proofs = book, moves, figures, proofs
        self._known: dict[tuple[Standing, frozenset[str]], float] = {}
        self._alone: dict[Standing, dict[str, float]] = {}
        self._moving: dict[tuple[Standing, tuple[str, ...]], tuple[float, Standing]] = like._moving if like else {}
        self._repairs: dict[str, tuple[tuple[str, ...], float, tuple[str, ...]]] = {}
        self._checks: dict[tuple[Standing, tuple[str, ...]], dict[str, Cost | None]] = like._checks if like else {}
        self._repaired: dict[tuple[Standing, tuple[str, ...]], dict[str, Cost | None]] = {}
        self._due: dict[tuple[str, ...], tuple[str, ...]] = {}
        self._proving: dict[tuple[Standing, tuple[str, ...]], tuple[float, Standing]] = {}
        self._restoring: dict[Standing, float] = like._restoring if like else {}

    def of_move(self, move: Move) -> float:
        """Minutes (with a rate: of every person), waits at the shop's weight, and care for each risky set-up."""
        return self._of(self._labour(move), move.waits, move.hazards)

    def _of(self, minutes: float, waits: float, hazards: int) -> float:
        return minutes + 60.0 * waits * self.figures.wait_weight + self.figures.care * hazards

    def _labour(self, move: Move) -> float:
        if self.figures.hourly_rate is None:
            return move.minutes
        listed = self.book.conditions
        minutes = sum(listed[c].restore_minutes * listed[c].people for c in move.off)
        return minutes + sum(listed[c].set_up_minutes * listed[c].people for c in move.on)

    def moving(self, standing: Standing, needs: tuple[str, ...]) -> tuple[float, Standing]:
        """Cost of moving to what is needed, and what stands then. Raises BadCondition."""
        key = (standing, needs)
        found = self._moving.get(key)
        if found is None:
            if self.figures.hourly_rate is None:
                # The order of a move is dear to work out, and its cost does not depend on it.
                cost = self.moves.cost(standing, needs)
                found = self._of(cost.minutes, cost.waits, cost.hazards), cost.after
            else:
                move = self.moves.move(standing, needs)
                found = self.of_move(move), move.after
            self._moving[key] = found
        return found

    def of_work(self, item: Check | Action) -> float:
        """The item's own minutes (with a rate: of every person), waits and parts, without what has to be set up."""
        minutes = item.minutes if self.figures.hourly_rate is None else item.minutes * item.people
        return minutes + 60.0 * item.waits * self.figures.wait_weight + self.figures.part_minutes(item.id)

    def step(self, standing: Standing, item: Check | Action, also: Iterable[str] = ()) -> tuple[float, Standing]:
        """Cost of moving to an item's needs (and ``also``) and doing it; what stands then. Raises BadCondition."""
        cost, after = self.moving(standing, (*item.needs, *also))
        return cost + self.of_work(item), after

    def of_check(self, standing: Standing, check: Check, also: tuple[str, ...]) -> Cost | None:
        """The same of a check; None where its needs cannot stand. Asked for every check from every standing."""
        known = self._checks.setdefault((standing, also), {})
        if check.id not in known:
            try:
                known[check.id] = Cost(*self.step(standing, check, also))
            except BadCondition:
                known[check.id] = None
        return known[check.id]

    def of_repair(self, standing: Standing, action: Action, also: tuple[str, ...]) -> Cost | None:
        """The same of an action with the proof that it needs."""
        known = self._repaired.setdefault((standing, also), {})
        if action.id not in known:
            try:
                minutes, after = self.step(standing, action, also)
                proving, after = self.proving(after, (action.id,))
                known[action.id] = Cost(minutes + proving, after)
            except BadCondition:
                known[action.id] = None
        return known[action.id]

    def due_after(self, actions: tuple[str, ...]) -> tuple[str, ...]:
        """Checks due after these actions, in their order; what may have to come before them is taken as done."""
        if actions not in self._due:
            self._due[actions] = tuple(follow_ups(self.book, actions, self.proofs, self.book.checks))
        return self._due[actions]

    def proving(self, standing: Standing, actions: tuple[str, ...]) -> tuple[float, Standing]:
        """Cost of the follow-up checks that these actions need, the proofs last; what stands then."""
        due = self.due_after(actions)
        key = (standing, due)
        if key not in self._proving:
            cost = 0.0
            for name in due:
                minutes, standing = self.step(standing, self.book.checks[name])
                cost += minutes
            self._proving[key] = cost, standing
        return self._proving[key]

    def restoring(self, standing: Standing) -> float:
        """Cost of putting everything back."""
        if standing not in self._restoring:
            self._restoring[standing] = self.of_move(self.moves.restore_all(standing))
        return self._restoring[standing]

    def of_plan(self, standing: Standing, actions: frozenset[str]) -> float:
        """Cost of doing these actions, proving them and restoring everything, in the cheapest order."""
        key = (standing, actions)
        if key not in self._known:
            named = sorted(actions)
            orders = permutations(named) if len(named) <= MOST_ORDERED else [tuple(named)]
            self._known[key] = min(self._in_order(standing, order) for order in orders)
        return self._known[key]

    def adds(self, standing: Standing, actions: Iterable[str]) -> list[float]:
        """What each of these actions costs alone, beyond the bare proof."""
        known = self._alone.setdefault(standing, {})
        bare = self.of_plan(standing, frozenset())
        for name in actions:
            if name not in known:
                known[name] = self._of_one(standing, name) - bare
        return [known[name] for name in actions]

    def _of_one(self, standing: Standing, name: str) -> float:
        """The cost of a plan of one action, in fewer calls: asked for every repair from every standing."""
        if name not in self._repairs:
            action = self.book.actions[name]
            self._repairs[name] = action.needs, self.of_work(action), self.due_after((name,))
        needs, work, due = self._repairs[name]
        moving, after = self._moving.get((standing, needs)) or self.moving(standing, needs)
        proving, after = self._proving.get((after, due)) or self.proving(after, (name,))
        return moving + work + proving + self.restoring(after)

    def _in_order(self, standing: Standing, actions: tuple[str, ...]) -> float:
        cost = 0.0
        for name in actions:
            minutes, standing = self.step(standing, self.book.actions[name])
            cost += minutes
        minutes, standing = self.proving(standing, actions)
        return cost + minutes + self.restoring(standing)
