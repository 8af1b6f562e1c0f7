"""Replays a case's entries over a frame: the rows (set as it was, set as it stands) and their weights."""

from __future__ import annotations

import copy
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from faulttree.belief.bound import Bearing
from faulttree.belief.evidence import Answer, Denied, Did, Entry, Found, Reported
from faulttree.belief.frame import Frame, log_sum, reported_so_far
from faulttree.belief.likelihood import Floats, Urn
from faulttree.belief.sets import ModeSets
from faulttree.belief.space import Ints
from faulttree.book.model import Action, Check
from faulttree.errors import BadAnswer

LOG2 = float(np.log(2.0))


@dataclass
class _Asked:
    """Readings of one check in this epoch, and what they amount to on each row and under U; the first's ``weights``.

    ``rows`` is None after the first: it is seen again where there is a second, so that answers hold no memory.
    """

    urn: Urn
    rows: Floats | None
    unlisted: float
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """One entry's mark on the whole: log odds of every reached fault as it was, before and after it.

    ``listed_before`` and ``listed_after`` are the weight of the listed causes, for the faults not reached.
    """

    entry: Entry
    before: Floats
    after: Floats
    listed_before: float
    listed_after: float


@dataclass
class Replay:
    """State after the entries taken so far.

    ``base`` (n_rows,) is each row's set as it was; ``modes`` (n_rows, limit) its standing modes, -1 for
    none; ``log_weight`` (n_rows,) given everything, ``log_given`` (n_rows,) given symptoms and actions
    alone; ``log_unlisted`` the unlisted cause's weight. ``log2_singles`` sums log2 P(e_i) among listed
    causes, ``log_bound`` the logs of the answers' largest likelihoods, ``bearings`` how far sets stay below them.
    """

    frame: Frame
    base: Ints = field(init=False)
    modes: Ints = field(init=False)
    log_weight: Floats = field(init=False)
    log_given: Floats = field(init=False)
    log_unlisted: float = field(init=False)
    log2_singles: float = 0.0
    log_bound: float = 0.0
    kept_share: dict[str, float] = field(default_factory=dict)
    steps: list[Step] = field(default_factory=list)
    trace: bool = False

    def __post_init__(self) -> None:
        self.base = self.frame.base.in_order()
        self.modes = self.frame.base.padded()
        self.log_weight = self.frame.log_given.copy()
        self.log_given = self.frame.log_given.copy()
        self.log_unlisted = self.frame.log_unlisted
        self._taken: list[Entry] = []
        self._asked: dict[str, _Asked] = {}
        self._said: set[Entry] = set()
        self._acted = False
        self._given_weights: Floats | None = self.frame.given
        self._touched = np.zeros(len(self.frame.space.mode_fault), dtype=np.bool_)
        self._stands: tuple[ModeSets, Ints] | None = None
        self._columns: dict[str, Floats] = {}
        self.bearings: list[Bearing] = [self._of_denied(name) for name in self.frame.symptoms.denied]

    def fork(self) -> Replay:
        """A twin that can take further entries without touching this one. Arrays are shared: none is ever changed."""
        twin = copy.copy(self)
        twin.kept_share, twin.steps, twin.bearings = dict(self.kept_share), list(self.steps), list(self.bearings)
        twin._taken, twin._said, twin._columns = list(self._taken), set(self._said), dict(self._columns)
        twin._asked = {name: replace(asked, urn=asked.urn.copy()) for name, asked in self._asked.items()}
        return twin

    def run(self, entries: Sequence[Entry]) -> Replay:
        """Take all entries in order; returns itself."""
        for entry in entries:
            self.take(entry)
        return self

    def take(self, entry: Entry) -> None:
        """Take one entry. Symptoms of the first epoch are in the frame already."""
        before = (self.log_odds(), self.listed()) if self.trace else None
        if isinstance(entry, Did):
            self._taken.append(entry)
            self._act(self.frame.book.actions[entry.action])
            return
        if isinstance(entry, Answer):
            self._answer(entry)
        elif isinstance(entry, Found):
            self._find(entry)
        elif self._acted and entry not in self._said:
            self._said.add(entry)
            self._symptom(entry)
        self._taken.append(entry)
        if before is not None and (self._acted or not isinstance(entry, Reported | Denied)):
            self.steps.append(Step(entry, before[0], self.log_odds(), before[1], self.listed()))

    # -- answers ---------------------------------------------------------------------------------------

    def squawk(self) -> tuple[str, ...]:
        """The symptoms that ``the-squawk`` stands for now."""
        return reported_so_far(self._taken) if self._acted else self.frame.symptoms.reported

    @property
    def taken(self) -> tuple[Entry, ...]:
        """The entries taken so far."""
        return tuple(self._taken)

    @property
    def acted(self) -> bool:
        """Whether any action was taken."""
        return self._acted

    def reported_later(self) -> list[str]:
        """Symptoms reported after the first action."""
        return [e.symptom for e in self._said if isinstance(e, Reported)] + [
            e.symptom for e in self._taken if isinstance(e, Reported)
        ]

    def standing(self) -> tuple[ModeSets, Ints]:
        """The distinct standing sets, and for each row the place of its set."""
        if self._stands is None:
            if not self._acted:
                self._stands = (self.frame.base, self.frame.base.in_order())
            else:
                self._stands = ModeSets.from_padded(self.frame.space, self.modes)
        return self._stands

    def shown(self, check: Check) -> Floats:
        """L[row, outcome]: a check about the squawk counts on the set as it was, any other as it stands."""
        squawk = self.squawk()
        if check.about == "squawk" and not check.proof:
            return self.frame.shown(check, squawk)[self.base]
        if not self._acted:
            return self.frame.shown(check, squawk)
        if check.id not in self._columns:
            sets, place = self.standing()
            self._columns[check.id] = self.frame.shown(check, squawk, sets)[place]
        return self._columns[check.id]

    def next_reading(self, check: Check, weights: Sequence[float]) -> tuple[Floats, float]:
        """Factor of one more reading of a check on each row (n_rows,), and under the unlisted cause."""
        rows, unlisted = self.shown(check), self.frame.shown_unlisted(check, self.squawk())
        asked = self._asked.get(check.id)
        urn = asked.urn.copy() if asked else Urn(check.fresh, len(check.outcomes))
        urn.add(weights)
        now, now_unlisted = urn.probability(rows), float(urn.probability(unlisted)[0])
        if asked is None:
            return now, now_unlisted
        before = self._seen(check, asked.weights) if asked.rows is None else asked.rows
        return _ratio(now, before), now_unlisted / asked.unlisted if asked.unlisted > 0 else 0.0

    def _answer(self, entry: Answer) -> None:
        check = self.frame.book.checks[entry.check]
        weights = entry.weights
        if len(weights) != len(check.outcomes) or min(weights) < 0 or not 0 < sum(weights) < np.inf:
            raise BadAnswer(f"{check.id}: an answer needs one weight per outcome, none below 0, not all 0")
        likelihood = np.array(weights) @ self.frame.matrix(check)
        self._bear(check, likelihood)
        asked = self._asked.get(check.id)
        single = self._seen(check, weights)
        if asked is None:
            unlisted = self.frame.seen_unlisted(check, self.squawk(), weights)
            self._asked[check.id] = asked = _Asked(Urn(check.fresh, len(weights)), None, unlisted, weights)
            asked.urn.add(weights)
            self._bounded(float(likelihood.max()))
            self._multiply(single, unlisted, single)
        else:
            most = self.frame.matrix(check).max(axis=1).tolist()
            unlisted_shown = self.frame.shown_unlisted(check, self.squawk())
            if asked.rows is None:
                asked.rows = single if asked.weights == weights else self._seen(check, asked.weights)
            self._repeat(asked, weights, self.shown(check), unlisted_shown, most, single)

    def _seen(self, check: Check, weights: tuple[float, ...]) -> Floats:
        """Likelihood of one answer on each row, shape (n_rows,)."""
        squawk = self.squawk()
        if not self._acted:
            return self.frame.seen(check, squawk, weights)
        if check.about == "squawk" and not check.proof:
            return self.frame.seen(check, squawk, weights)[self.base]
        sets, place = self.standing()
        return self.frame.seen(check, squawk, weights, sets)[place]

    def _of_denied(self, name: str) -> Bearing:
        symptom = self.frame.book.symptoms[name]
        held = self.frame.brings_about(symptom.when)[self.frame.space.mode_fault]
        return Bearing(None, 1.0, np.where(held, 1.0 - symptom.noticed, 1.0))

    def _bear(self, check: Check, likelihood: Floats) -> None:
        """Keep what an answer says of sets too large to be listed; ``likelihood`` (n_outcomes,) by true outcome.

        Only a first reading counts, and one of what stands now says nothing of modes that an action may have removed.
        """
        if check.id in self._asked or not likelihood.max() > 0:
            return
        space, squawk = self.frame.space, self.squawk()
        relative = likelihood / likelihood.max()
        of_squawk = check.about == "squawk" and not check.proof
        so_far = np.maximum.accumulate(relative)[self.frame.least_outcome(check, squawk)][space.mode_fault]
        awake = np.ones(len(so_far)) if of_squawk else space.shows + check.wakes * (1.0 - space.shows)
        held = awake * so_far + (1.0 - awake)
        if not of_squawk:
            held[self._touched] = 1.0
        self.bearings.append(Bearing(self.frame.looked_at(check, squawk), float(relative[-1]), held))

    def _find(self, entry: Found) -> None:
        defaults = self.frame.book.defaults
        place = self.frame.space.place[entry.fault]
        mine = np.append(self.frame.space.mode_fault == place, False)
        sees = np.where(mine[self.modes].any(axis=1), defaults.found_detects, defaults.found_false_alarm)
        key, share = f"found {entry.fault}", self.frame.holds_unlisted(entry.fault)
        mean = share * defaults.found_detects + (1.0 - share) * defaults.found_false_alarm
        asked, weights = self._asked.get(key), (1.0, 0.0)
        if asked is None:
            sound = defaults.found_false_alarm / defaults.found_detects
            self.bearings.append(Bearing(mine[:-1], sound, np.ones(len(self.frame.space.mode_fault))))
            self._asked[key] = asked = _Asked(Urn(defaults.fresh, 2), None, mean, weights)
            asked.urn.add(weights)
            self._bounded(defaults.found_detects)
            self._multiply(sees, mean, sees)
        else:
            most = [defaults.found_detects, 1.0 - defaults.found_false_alarm]
            asked.rows = sees if asked.rows is None else asked.rows
            rows = np.column_stack([sees, 1.0 - sees])
            self._repeat(asked, weights, rows, np.array([[mean, 1.0 - mean]]), most, sees)

    def _repeat(
        self,
        asked: _Asked,
        weights: tuple[float, ...],
        rows: Floats,
        unlisted: Floats,
        most: list[float],
        single: Floats,
    ) -> None:
        """Take one more reading: L by row and under U, the most that any L[o] can be, the reading as if the first."""
        self._bounded(asked.urn.most_next(most, weights))
        asked.urn.add(weights)
        now, now_unlisted = asked.urn.probability(rows), float(asked.urn.probability(unlisted)[0])
        assert asked.rows is not None
        factor = _ratio(now, asked.rows)
        factor_unlisted = now_unlisted / asked.unlisted if asked.unlisted > 0 else 0.0
        asked.rows, asked.unlisted = now, now_unlisted
        self._multiply(factor, factor_unlisted, single)

    def _bounded(self, bound: float) -> None:
        self.log_bound += math.log(bound) if bound > 0 else -math.inf

    def _symptom(self, entry: Reported | Denied) -> None:
        symptom = self.frame.book.symptoms[entry.symptom]
        sets, place = self.standing()
        holds = self.frame.space.truth(symptom.when)[sets.whole()][place]
        share = self.frame.holds_unlisted(symptom.when)
        if isinstance(entry, Reported):
            factor, mean = holds.astype(np.float64), share
        else:
            factor, mean = np.where(holds, 1.0 - symptom.noticed, 1.0), 1.0 - symptom.noticed * share
        self._multiply(factor, mean, factor)

    def _multiply(self, factor: Floats, factor_unlisted: float, single: Floats) -> None:
        with np.errstate(divide="ignore"):
            self.log_weight = self.log_weight + np.log(factor)
            self.log_unlisted += float(np.log(factor_unlisted))
            self.log2_singles += float(np.log2(self._given() @ single))

    def _given(self) -> Floats:
        """Weights of the rows given symptoms and actions alone, summing to one, shape (n_rows,)."""
        if self._given_weights is None:
            total = log_sum(self.log_given)
            known = np.isfinite(total)
            self._given_weights = np.exp(self.log_given - total) if known else np.zeros(len(self.log_given))
        return self._given_weights

    # -- actions ---------------------------------------------------------------------------------------

    def _act(self, action: Action) -> None:
        space = self.frame.space
        fixable = space.modes_of(action.corrects)
        for fault in action.corrects:
            if fault not in space.place:
                self.kept_share[fault] = self.kept_share.get(fault, 1.0) * (1.0 - action.effective)
        self._touched = self._touched | fixable[:-1]
        for column in range(self.modes.shape[1]):
            self._split(column, fixable[self.modes[:, column]], action.effective)
        self._merge()
        self._acted = True
        self._stands = None
        self._given_weights = None
        self._columns, self._asked, self._said = {}, {}, set()

    def _split(self, column: int, here: np.ndarray, effective: float) -> None:
        """Rows whose mode in ``column`` may go: one copy without it, one with it still there."""
        gone = self.modes[here].copy()
        gone[:, column] = -1
        with np.errstate(divide="ignore"):
            step, went = np.where(here, np.log1p(-effective), 0.0), float(np.log(effective))
        self.base = np.concatenate([self.base, self.base[here]])
        self.modes = np.concatenate([self.modes, gone])
        self.log_weight = np.concatenate([self.log_weight + step, self.log_weight[here] + went])
        self.log_given = np.concatenate([self.log_given + step, self.log_given[here] + went])

    def _merge(self) -> None:
        """One row per pair of sets; rows that cannot be are dropped."""
        can_be = np.isfinite(self.log_given)
        base, modes = self.base[can_be], self.modes[can_be]
        stands = (modes >= 0) @ (1 << np.arange(modes.shape[1]))
        key = base * (1 << modes.shape[1]) + stands
        _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
        self.base, self.modes = base[first], modes[first]
        self.log_weight = _log_sum_by(inverse.reshape(-1), self.log_weight[can_be], len(first))
        self.log_given = _log_sum_by(inverse.reshape(-1), self.log_given[can_be], len(first))

    # -- sums ------------------------------------------------------------------------------------------

    def weights(self) -> tuple[Floats, float]:
        """Normalised weights of the rows (n_rows,) and of the unlisted cause; all zero if nothing is left."""
        top = max(float(self.log_weight.max(initial=-np.inf)), self.log_unlisted)
        if not np.isfinite(top):
            return np.zeros(len(self.log_weight)), 0.0
        share = self.log_weight - top
        np.exp(share, out=share)
        unlisted = float(np.exp(self.log_unlisted - top))
        total = float(share.sum()) + unlisted
        share /= total
        return share, unlisted / total

    def listed(self) -> float:
        """Probability that the cause is one that the book knows."""
        return 1.0 - self.weights()[1]

    def by_mode(self, rows: Floats) -> Floats:
        """Weights of the rows (n_rows,) summed by the modes that stand on them, shape (n_modes,)."""
        return per_mode(self.modes, rows, len(self.frame.space.mode_fault)) if self._acted else self.was_by_mode(rows)

    def was_by_mode(self, rows: Floats) -> Floats:
        """The same by the modes that were there at the time of the squawk."""
        if self._acted:
            rows = np.bincount(self.base, weights=rows, minlength=self.frame.base.n).astype(np.float64)
        return self.frame.base.by_mode(rows)

    def log_odds(self) -> Floats:
        """log2 odds that each reached fault was there, the unlisted cause against it, shape (n_faults,)."""
        rows, unlisted = self.weights()
        space = self.frame.space
        modes = self.was_by_mode(rows)
        yes = np.bincount(space.mode_fault, weights=modes, minlength=len(space.faults))
        total = float(rows.sum()) + unlisted
        with np.errstate(divide="ignore", invalid="ignore"):
            odds: Floats = np.log2(yes) - np.log2(np.maximum(total - yes, 0.0))
        # With no weight left at all nothing can have been there.
        return odds if total > 0 else np.full(len(space.faults), -np.inf)


def _ratio(now: Floats, before: Floats) -> Floats:
    return np.divide(now, before, out=np.zeros_like(now), where=before > 0)


def _log_sum_by(group: Ints, logs: Floats, n: int) -> Floats:
    top = np.full(n, -np.inf)
    np.maximum.at(top, group, logs)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return safe + np.log(np.bincount(group, weights=np.exp(logs - safe[group]), minlength=n))


def per_mode(modes: Ints, weights: Floats, n_modes: int) -> Floats:
    """Weights of the rows of ``modes`` (n, limit; -1 for none) summed by mode, shape (n_modes,)."""
    total = np.zeros(n_modes + 1)
    for column in modes.T:
        total += np.bincount(column + 1, weights=weights, minlength=n_modes + 1)
    return total[1:]
