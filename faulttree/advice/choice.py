"""The quick choice in one state of a job: bits per net minute, with calling in help as the way out.

Net minutes of a step are its cost plus the change that it makes in the floor, what the job would still cost if the
cause were known. A set-up that the repair and its proof need anyway so costs nothing, one that has to be undone again
costs double, and a wrong repair costs its labour and its failed proof. After Pattipati and Alexandridis (IEEE Trans.
SMC 20(4), 1990) and Heckerman, Breese and Rommelse (Communications of the ACM 38(3), 1995).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from faulttree.advice.floor import Cost, Standing
from faulttree.advice.job import Job
from faulttree.advice.tables import Table, Tables
from faulttree.belief.likelihood import Floats
from faulttree.belief.space import Bools

LEAST_NET_MINUTES = 0.5
LEAST_BITS = 1e-3
"""A step that tells less moves no cause by as much as a tenth of a per cent."""

LEAST_ROW = 1e-5
MOST_HEAVY = 0.7
"""Rows lighter than this count for nothing in the bits; they are left out where that makes the work shorter."""

CERTAIN = 1.0 - 1e-6
OVERLAP = 0.85 ** np.arange(7)
MOST_TOLD = 0.9
"""Checks that share a set-up: how much each further one counts, and what they tell together at most."""

UNKNOWN_PRICE = 1.2
"""What the bits still unknown cost, as a multiple of what the best step pays for one."""


@dataclass(frozen=True, slots=True)
class State:
    """Where a job in play stands: ``weights`` (n_rows + 1,) sum to one; ``done`` and ``ever`` are sets of checks."""

    weights: Floats
    standing: Standing
    forced: tuple[str, ...] = ()
    done: frozenset[int] = frozenset()
    ever: frozenset[int] = frozenset()

    def key(self) -> tuple[bytes, Standing, tuple[str, ...], frozenset[int], frozenset[int]]:
        """Equal for states that are the same but for rounding."""
        rounded = np.round(self.weights, 9) + 0.0
        return rounded.tobytes(), self.standing, self.forced, self.done, self.ever


class Step(NamedTuple):
    """A step in play: ``kind`` is ``check``, ``act``, ``prove`` or ``help``.

    ``place`` is where the check or action stands in the job's list, ``also`` conditions to set up with it though it
    does not need them.
    """

    kind: str
    place: int = -1
    also: tuple[str, ...] = ()


HELP, PROVE = Step("help"), Step("prove")


@dataclass(frozen=True, slots=True)
class Choice:
    """All that the rule looks at: bits, net minutes and their ratio of every check and every repair.

    ``success`` is the chance that a repair cures all, ``helps`` counts a part of a longer plan as a part of the cure,
    ``act_minutes`` what a repair costs with its proof and the check that has to come before it.
    """

    table: Table
    floor: float
    unknown: float
    check_bits: Floats
    check_net: Floats
    check_ratio: Floats
    act_bits: Floats
    act_net: Floats
    act_ratio: Floats
    success: Floats
    helps: Floats
    act_minutes: Floats
    step: Step
    ratio: float


class Rule:
    """The quick choice for the states of one job."""

    def __init__(self, job: Job) -> None:
        self.job, self.tables = job, Tables(job)
        place = {check.id: c for c, check in enumerate(job.checks)}
        self._before = [self._all_before(c, place) for c in range(len(job.checks))]
        self._led = [c for c, before in enumerate(self._before) if before]
        self._shown_by = [tuple(place[name] for name in a.after_any if name in place) for a in job.actions]
        self._to_show = [a for a, checks in enumerate(self._shown_by) if checks]
        self._width = len(job.checks)
        self._alone = np.array([job.floor.of_work(check) for check in job.checks])

    def _all_before(self, c: int, place: Mapping[str, int]) -> tuple[int, ...]:
        found: dict[int, None] = {}
        for name in self.job.checks[c].after:
            if name in place:
                found.update(dict.fromkeys((*self._all_before(place[name], place), place[name])))
        return tuple(found)

    def missing(self, c: int, ever: frozenset[int]) -> tuple[int, ...]:
        """The checks that have to come before check c and were never done."""
        return tuple(b for b in self._before[c] if b not in ever)

    def shows_first(self, a: int, table: Table, ever: frozenset[int]) -> int | None:
        """The cheapest check of those of which one has to come before action a; None where nothing has to."""
        checks = self._shown_by[a]
        if not checks or not ever.isdisjoint(checks):
            return None
        return min(checks, key=lambda c: (table.check_minutes[c], c))

    def action_cost(self, a: int, table: Table, ever: frozenset[int]) -> Cost | None:
        """Cost of an action and its proof, with the check that has to come before it."""
        first = self.shows_first(a, table, ever)
        return table.actions[a] if first is None else table.shown(first, a)

    def _action_minutes(self, table: Table, ever: frozenset[int]) -> Floats:
        unseen = [a for a in self._to_show if ever.isdisjoint(self._shown_by[a])]
        if not unseen:
            return table.action_minutes
        minutes = table.action_minutes.copy()
        for a in unseen:
            cost = self.action_cost(a, table, ever)
            minutes[a] = np.inf if cost is None else cost.minutes
        return minutes

    def choose(self, state: State) -> Choice:
        """What the rule says of every step in this state."""
        job, table = self.job, self.tables.at(state.standing, state.forced)
        weights = job.sums(state.weights)
        floor, unknown = float(weights @ table.floors), _entropy(weights)
        bits = self._bits(state.weights)
        net = table.check_minutes + (table.floors_after @ weights)[table.check_after] - floor
        net = self._with_missing(state, table, weights, floor, net)
        open_checks = bits > LEAST_BITS
        if state.done:
            open_checks[list(state.done)] = False
        ratio = np.where(open_checks, bits / np.maximum(net, LEAST_NET_MINUTES), 0.0)
        minutes = self._action_minutes(table, state.ever)
        act_bits, act_net, success = self._actions(state.weights, minutes, table, floor)
        helps = job.helps @ state.weights
        worth = minutes <= helps * job.figures.help
        act_ratio = np.where(worth & (helps > 0), act_bits / np.maximum(act_net, LEAST_NET_MINUTES), 0.0)
        step, best = self._best(ratio, act_ratio, success, worth)
        if step.kind == "check" and table.after[table.check_after[step.place]] != state.standing:
            self._share_set_ups(table, ratio, bits * open_checks, weights, floor, unknown)
            step, best = self._best(ratio, act_ratio, success, worth)
        if best > 0 and job.figures.help < floor + unknown / best:
            step = HELP
        return Choice(
            table, floor, unknown, bits, net, ratio, act_bits, act_net, act_ratio, success, helps, minutes, step, best
        )

    def _best(self, ratio: Floats, act_ratio: Floats, success: Floats, worth: Bools) -> tuple[Step, float]:
        check = int(ratio.argmax()) if len(ratio) else -1
        act = int(act_ratio.argmax()) if len(act_ratio) else -1
        best_check = float(ratio[check]) if check >= 0 else 0.0
        best_act = float(act_ratio[act]) if act >= 0 else 0.0
        if len(success):
            sure = int(success.argmax())
            if worth[sure] and success[sure] >= CERTAIN * self.job.effective[sure, 0]:
                return Step("act", sure), max(best_act, best_check, 1.0)
        if best_act <= 0 and best_check <= 0:
            return HELP, 0.0
        return (Step("act", act), best_act) if best_act >= best_check else (Step("check", check), best_check)

    def only(self, choice: Choice, checks: Bools, acts: Bools) -> Choice:
        """A choice among these checks (n_checks,) and actions (n_actions,) alone; help where none of them pays."""
        ratio, act_ratio = choice.check_ratio * checks, choice.act_ratio * acts
        step, best = self._best(ratio, act_ratio, choice.success * acts, acts)
        if choice.step.kind == "help":
            step = HELP
        return replace(choice, check_ratio=ratio, act_ratio=act_ratio, step=step, ratio=best or choice.ratio)

    def _bits(self, row_weights: Floats) -> Floats:
        """Mutual information of every check with the groups, shape (n_checks,); rows that hardly weigh left out."""
        job = self.job
        if not self._width:
            return np.zeros(0)
        shown, starts, kept = job.shown, job.starts, row_weights
        heavy = row_weights > LEAST_ROW
        if np.count_nonzero(heavy) < MOST_HEAVY * len(heavy):
            shown, kept, group = shown[heavy], row_weights[heavy], job.group[heavy]
            starts = np.concatenate(([0], np.flatnonzero(group[1:] != group[:-1]) + 1))
        joint, weights = kept[:, None] * shown, kept
        if len(starts) < len(kept):
            joint, weights = np.add.reduceat(joint, starts, axis=0), np.add.reduceat(kept, starts)
        told = _xlogx(joint).sum(axis=0) - _xlogx(joint.sum(axis=0))
        # What is left out takes its share of the entropy with it, so that a check that tells nothing has no bits.
        unknown = _entropy(weights) + float(_xlogx(weights.sum()))
        return np.asarray(np.add.reduceat(told, job.first[:-1]) + unknown)

    def _share_set_ups(
        self, table: Table, ratio: Floats, bits: Floats, weights: Floats, floor: float, unknown: float
    ) -> None:
        """Raise the ratio of checks that set something up to that of the best bundle which then follows.

        A set-up is seldom made for one check: with the floor out and the gear on jacks several follow for their own
        minutes alone. Each further check counts for less, since it partly tells the same.
        """
        telling = table.shares & (bits > 0)
        score = np.where(telling, self._alone / np.maximum(bits, LEAST_BITS), np.inf)
        order = np.argsort(score, axis=1, kind="stable")[:, : len(OVERLAP)]
        there = np.take_along_axis(telling, order, axis=1)
        told = np.where(there, bits[order] * OVERLAP[: order.shape[1]], 0.0).cumsum(axis=1)
        spent = np.where(there, self._alone[order], 0.0).cumsum(axis=1)
        moving = table.moving + table.floors_after @ weights - floor
        bundled = np.minimum(told, MOST_TOLD * unknown) / np.maximum(spent + moving[:, None], LEAST_NET_MINUTES)
        for k in np.flatnonzero(there[:, 0]).tolist():
            first = int(order[k, 0])
            ratio[first] = max(ratio[first], float(bundled[k].max()))

    def _with_missing(self, state: State, table: Table, weights: Floats, floor: float, net: Floats) -> Floats:
        """Net minutes, where checks that lack one that has to come first bring it along."""
        for c in self._led:
            missing = self.missing(c, state.ever)
            if missing:
                cost = self.led_cost(c, missing, table)
                after = np.inf if cost is None else cost.minutes + float(self.job.floors(cost.after) @ weights)
                net[c] = after - floor
        return net

    def led_cost(self, c: int, missing: tuple[int, ...], table: Table) -> Cost | None:
        """What a check costs with those that have to come before it."""
        return table.led_to(c, [self.job.checks[b] for b in missing])

    def _actions(self, weights: Floats, minutes: Floats, table: Table, floor: float) -> tuple[Floats, Floats, Floats]:
        job = self.job
        fails = job.fails @ weights
        net = minutes + table.rest @ weights - floor
        return _bernoulli(fails), net, job.cures @ weights


def _xlogx(weights: Floats) -> Floats:
    return weights * np.log2(np.maximum(weights, 1e-300))


def _entropy(weights: Floats) -> float:
    return float(-_xlogx(weights).sum())


def _bernoulli(chances: Floats) -> Floats:
    return -_xlogx(chances) - _xlogx(np.maximum(1.0 - chances, 0.0))
