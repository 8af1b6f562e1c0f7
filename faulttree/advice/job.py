"""One job compiled for play: rows, groups of rows, and what checks and repairs would show on each.

Two rows that the same actions correct need not be told apart, so bits are counted over groups of rows with the same
plan. Everything here is arrays over rows; what depends on the conditions that stand is in :mod:`tables`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from faulttree.advice.floor import Floor, Standing
from faulttree.advice.rows import NOTHING, Rows, keys_of
from faulttree.belief.likelihood import Floats
from faulttree.book.model import Action, Check

WORTH_EXACT = 0.01
"""Weight from which a plan of several actions has its cost worked out move by move."""


class Job:
    """``weights`` (n + 1,) of the rows at the outset, the unlisted cause last; rows of one group lie together.

    ``shown`` (n + 1, n_columns) chance of each outcome of each check, check c in columns ``first[c]`` to
    ``first[c + 1]``. ``becomes`` (n_actions, n + 1) the row that an action makes of a row; ``fails`` and
    ``comes_back`` (n_actions, n + 1) the chance that the proof after it shows the squawk, and that it passes while
    something still stands; ``proof_fails`` and ``stands`` (n + 1,) the same of a proof done now. ``cures``
    (n_actions, n + 1) the chance that an action corrects all that stands, ``helps`` the same with a part of a longer
    plan counted as a part. ``plans[g]`` the actions that correct group g, None where none here does; the unlisted
    cause is the last group.
    """

    def __init__(self, rows: Rows, floor: Floor, checks: Sequence[Check], actions: Sequence[Action]) -> None:
        self.rows, self.floor, self.figures = rows, floor, floor.figures
        self._group(rows, actions)
        self.weights = rows.weights
        self.checks = list(checks)
        # What a pilot saw is asked once: a repair does not make the memory of it any fresher.
        self.lasting = frozenset(c for c, check in enumerate(checks) if check.about == "squawk")
        self.needs = [floor.moves.closure(check.needs) for check in checks]
        self.shown = rows.columns(checks)
        self.first = np.cumsum([0, *(len(check.outcomes) for check in checks)])
        self.check_of_column = np.repeat(np.arange(len(checks)), np.diff(self.first))
        self._act(rows, actions)
        self._floors: dict[Standing, Floats] = {}

    def item(self, kind: str, place: int) -> Check | Action:
        """The check or action that stands in a place."""
        return self.checks[place] if kind == "check" else self.actions[place]

    # -- groups ----------------------------------------------------------------------------------------

    def _group(self, rows: Rows, actions: Sequence[Action]) -> None:
        space = rows.frame.space
        plan_of = self._cheapest(actions)
        plan_of_mode = [plan_of.get(space.faults[fault]) for fault in space.mode_fault.tolist()]
        named = {name: number for number, name in enumerate(dict.fromkeys(plan_of_mode))}
        numbers: dict[frozenset[str] | None, int] = {}
        known: dict[bytes, int] = {}
        # Many rows want the same actions: what these come to as a plan is worked out once.
        wanted = np.array([*(named[name] for name in plan_of_mode), NOTHING], dtype=np.int64)[rows.modes]
        keys = keys_of(wanted)
        for key, modes in zip(keys, rows.modes, strict=True):
            if key not in known:
                plan = _plan([plan_of_mode[mode] for mode in modes.tolist() if mode >= 0])
                known[key] = numbers.setdefault(plan, len(numbers))
        group = [known[key] for key in keys]
        order = np.argsort(np.array(group, dtype=np.int64), kind="stable")
        rows.put_in_order(order)
        self.plans: list[frozenset[str] | None] = list(numbers)
        self.group = np.append(np.array(group, dtype=np.int64)[order], len(numbers))
        self.starts = np.flatnonzero(np.diff(self.group, prepend=-1))

    def _cheapest(self, actions: Sequence[Action]) -> dict[str, str]:
        """For each fault that one of these actions corrects the one that does it for the fewest minutes."""
        minutes = {a.id: self.floor.step(frozenset(), a)[0] / max(a.effective, 1e-9) for a in actions}
        dearest_first = sorted(actions, key=lambda a: (minutes[a.id], a.id), reverse=True)
        return {fault: action.id for action in dearest_first for fault in action.corrects}

    def sums(self, row_weights: Floats) -> Floats:
        """Weights by row (n + 1,) or (n + 1, k) summed by group: (n_groups + 1,) or (n_groups + 1, k)."""
        if len(self.starts) == len(row_weights):
            return row_weights
        return np.asarray(np.add.reduceat(row_weights, self.starts, axis=0))

    def floors(self, standing: Standing) -> Floats:
        """What each group would cost from these conditions if it were known, shape (n_groups + 1,).

        A plan of several actions that hardly weighs is taken as the sum of what each adds to the bare proof. Help is
        the plan of the unlisted cause and of what no action here corrects, and the way out where it is cheaper.
        """
        if standing not in self._floors:
            bare = self.floor.of_plan(standing, frozenset())
            adds = np.array(self.floor.adds(standing, self._named))
            costs = np.append(bare + self._in_plan @ adds, np.inf)
            for group in self._worth_exact:
                costs[group] = self.floor.of_plan(standing, self.plans[group] or frozenset())
            costs[self._hopeless] = np.inf
            self._floors[standing] = np.minimum(costs, self.figures.help)
        return self._floors[standing]

    @cached_property
    def _named(self) -> list[str]:
        return sorted({action for plan in self.plans if plan is not None for action in plan})

    @cached_property
    def _in_plan(self) -> Floats:
        """Which actions each plan has, as ones, shape (n_groups, n_named)."""
        named = [[plan is not None and a in plan for a in self._named] for plan in self.plans]
        return np.array(named, dtype=np.float64).reshape(len(self.plans), len(self._named))

    @cached_property
    def _worth_exact(self) -> list[int]:
        weights = self.sums(self.weights)
        return [g for g, plan in enumerate(self.plans) if plan and len(plan) > 1 and weights[g] >= WORTH_EXACT]

    @cached_property
    def _hopeless(self) -> list[int]:
        return [g for g, plan in enumerate(self.plans) if plan is None]

    @cached_property
    def holds(self) -> Floats:
        """Which faults stand on each row, as ones, shape (n_faults, n)."""
        return self.rows.holds()

    # -- actions ---------------------------------------------------------------------------------------

    def _act(self, rows: Rows, actions: Sequence[Action]) -> None:
        proofs = [self.floor.book.checks[name] for name in self.floor.proofs]
        shown, passes = rows.columns(proofs), np.ones(len(self.weights))
        for place in np.cumsum([len(proof.outcomes) for proof in proofs]).tolist():
            passes = passes * shown[:, place - 1]
        self.proof_fails: Floats = 1.0 - passes
        self.stands = stands = rows.stands()
        becomes = [rows.after_action(action) for action in actions]
        useful = [a for a, to in enumerate(becomes) if (to != np.arange(len(to))).any()]
        self.actions = [actions[a] for a in useful]
        proving = sum(self.floor.of_work(self.floor.book.checks[name]) for name in self.floor.proofs)
        self.labour = np.array([self.floor.of_work(action) + proving for action in self.actions])
        shape = (len(useful), len(self.weights))
        self.becomes = np.array([becomes[a] for a in useful], dtype=np.int64).reshape(shape)
        self.effective = np.array([action.effective for action in self.actions]).reshape(-1, 1)
        went, stayed = self.proof_fails[self.becomes], self.proof_fails
        self.fails: Floats = self.effective * went + (1.0 - self.effective) * stayed
        self.comes_back: Floats = (
            self.effective * (1.0 - went) * stands[self.becomes] + (1.0 - self.effective) * (1.0 - stayed) * stands
        )
        changed = self.becomes != np.arange(shape[1])
        cured = changed & ~stands[self.becomes]
        self.cures: Floats = self.effective * cured
        # Part of a plan of several actions is part of the cure.
        size = np.array([max(len(plan), 1) if plan else 1 for plan in self.plans] + [1])[self.group]
        self.helps: Floats = self.effective * changed / size

    @cached_property
    def least(self) -> Floats:
        """What each row costs at least whatever is done: a repair that it needs with its proof, or the way out."""
        way_out = min(self.figures.help, self.figures.comeback)
        able = np.where(self.helps > 0, self.labour[:, None], np.inf)
        least: Floats = np.minimum(able.min(axis=0, initial=np.inf), np.where(self.stands, way_out, 0.0))
        return least

    def after_failed(self, action: int, weights: Floats) -> Floats:
        """Weights (n + 1,), not normalised, once an action was done and its proof showed the squawk."""
        effective, to = float(self.effective[action, 0]), self.becomes[action]
        moved = np.bincount(to, weights=effective * weights, minlength=len(weights))
        return np.asarray((moved + (1.0 - effective) * weights) * self.proof_fails)


def _plan(actions: Sequence[str | None]) -> frozenset[str] | None:
    named = frozenset(action for action in actions if action is not None)
    return None if len(named) < len(set(actions)) else named


def entropy(weights: Floats) -> float:
    """Entropy in bits of weights, normalised first."""
    total = float(weights.sum())
    if total <= 0:
        return 0.0
    share = weights[weights > 0] / total
    return float(-(share * np.log2(share)).sum())
