"""What every step of a job costs from one set of standing conditions, and what stands after it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from faulttree.advice.floor import Cost, Standing
from faulttree.advice.job import Job
from faulttree.belief.likelihood import Floats
from faulttree.belief.space import Bools
from faulttree.book.model import Check
from faulttree.errors import BadCondition


class Table:
    """Costs from ``standing``; ``forced`` are conditions that anything but a question has to set up first.

    ``checks[c]`` and ``actions[a]`` (repair and proof together) are None where the need cannot stand. ``floors_after``
    (n_after, n_groups + 1) is what each group's floor becomes by doing a check. ``shares`` (n_after, n_checks) tells
    which checks need no more set up once a check has led to ``after[k]``, and cannot be done without it. ``rest``
    (n_actions, n_rows + 1) is what is still to be paid on each row after a repair and its proof, from there on with
    the cause known.
    """

    def __init__(self, job: Job, standing: Standing, forced: tuple[str, ...]) -> None:
        self.job, self.standing, self.forced = job, standing, forced
        self.floors: Floats = job.floors(standing)
        self.checks = [self._check(check) for check in job.checks]
        self.check_minutes = np.array([np.inf if c is None else c.minutes for c in self.checks])
        self.after = list(dict.fromkeys(c.after for c in self.checks if c is not None))
        place = {after: i for i, after in enumerate(self.after)}
        self.check_after = np.array([0 if c is None else place[c.after] for c in self.checks], dtype=np.int64)
        self.floors_after = np.array([job.floors(after) for after in self.after]).reshape(-1, len(self.floors))
        self.moving = np.array([self._moving(after) for after in self.after])
        self.shares = self._shares()
        self.actions = [self._action(a) for a in range(len(job.actions))]
        self.action_minutes = np.array([np.inf if a is None else a.minutes for a in self.actions])
        self.rest = self._rest()
        self._led: dict[tuple[int, frozenset[str]], Cost | None] = {}
        self._shown: dict[tuple[int, int], Cost | None] = {}

    def _check(self, check: Check) -> Cost | None:
        return self.job.floor.of_check(self.standing, check, () if check.kind == "ask" else self.forced)

    def _steps(self, checks: Iterable[Check], also: tuple[str, ...] = ()) -> Cost | None:
        cost, standing, forced = 0.0, self.standing, self.forced
        try:
            for check in checks:
                first = () if check.kind == "ask" else forced
                minutes, standing = self.job.floor.step(standing, check, (*first, *also))
                cost += minutes
                forced = () if first else forced
        except BadCondition:
            return None
        return Cost(cost, standing)

    def _moving(self, after: Standing) -> float:
        return self.job.floor.moving(self.standing, tuple(sorted(after)))[0]

    def _shares(self) -> Bools:
        needs = self.job.needs
        shares = np.zeros((len(self.after), len(needs)), dtype=np.bool_)
        wanting = [c for c, need in enumerate(needs) if not need <= self.standing]
        for k, after in enumerate(self.after):
            shares[k, [c for c in wanting if needs[c] <= after]] = True
        return shares

    def _action(self, a: int) -> Cost | None:
        return self.action(a, ())

    def action(self, a: int, also: tuple[str, ...]) -> Cost | None:
        """A repair and the proof that it needs, with further conditions set up; None where they cannot stand."""
        return self._repair(a, self.standing, (*self.forced, *also))

    def _repair(self, a: int, standing: Standing, also: tuple[str, ...]) -> Cost | None:
        return self.job.floor.of_repair(standing, self.job.actions[a], also)

    def shown(self, c: int, a: int) -> Cost | None:
        """A repair and its proof, with the check that shows first whether it is wanted."""
        key = (c, a)
        if key not in self._shown:
            check = self.checks[c]
            forced = self.forced if self.job.checks[c].kind == "ask" else ()
            repair = None if check is None else self._repair(a, check.after, forced)
            self._shown[key] = None if check is None or repair is None else Cost(check.minutes + repair[0], repair[1])
        return self._shown[key]

    def check(self, c: int, also: tuple[str, ...]) -> Cost | None:
        """A check with further conditions set up; None where they cannot stand together."""
        return self._steps([self.job.checks[c]], also)

    def led_to(self, c: int, missing: Sequence[Check]) -> Cost | None:
        """A check and the checks that have to come before it."""
        key = (c, frozenset(check.id for check in missing))
        if key not in self._led:
            self._led[key] = self._steps([*missing, self.job.checks[c]])
        return self._led[key]

    def _rest(self) -> Floats:
        """What is left on each row after each repair and its proof, shape (n_actions, n_rows + 1)."""
        job = self.job
        after = [self.standing if cost is None else cost.after for cost in self.actions]
        if not after:
            return np.zeros(job.becomes.shape)
        floors = np.array([job.floors(standing) for standing in after])
        restoring = np.array([job.floor.restoring(standing) for standing in after]).reshape(-1, 1)
        went = np.take_along_axis(floors, job.group[job.becomes], axis=1) * job.proof_fails[job.becomes]
        stayed = floors[:, job.group] * job.proof_fails
        failed = job.effective * went + (1.0 - job.effective) * stayed
        return np.asarray(failed + (1.0 - job.fails) * restoring + job.figures.comeback * job.comes_back)


class Tables:
    """The tables of one job, worked out once for each set of standing conditions."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._known: dict[tuple[Standing, tuple[str, ...]], Table] = {}

    def at(self, standing: Standing, forced: tuple[str, ...]) -> Table:
        """The table from these conditions."""
        key = (standing, forced)
        if key not in self._known:
            self._known[key] = Table(self._job, standing, forced)
        return self._known[key]
