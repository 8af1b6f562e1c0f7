"""Belief as a function of a book and a case: :class:`Believer` works it out, :class:`Belief` is the result."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from faulttree.belief.bound import log_weight_beyond
from faulttree.belief.contradiction import Contradiction, smallest_contradiction
from faulttree.belief.evidence import Did, Entry, Evidence, Reported
from faulttree.belief.frame import Frame, first_symptoms, log_sum, reached
from faulttree.belief.likelihood import Floats
from faulttree.belief.priors import ModePriors, mode_priors
from faulttree.belief.replay import LOG2, Replay
from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.errors import BadAnswer, UnknownName
from faulttree.graph.gates import Gates
from faulttree.kept import Latest

REPLAYS_KEPT = 4
FRAMES_KEPT = 6
"""Undo and "what if" go back and forth between a few sets of reached faults; more would only hold memory."""

ROWS_KEPT = 1_000_000
"""Rows of all frames kept together, some 200 bytes each; answers that contradict each other make millions of them."""


class FaultBelief(NamedTuple):
    """Probability that a fault stands, and that it stands in its comes-and-goes mode (a part of it)."""

    probability: float
    comes_and_goes: float


class Believer:
    """Works out belief for one book. What it keeps between calls is a cache and nothing else.

    ``size_limit`` is the largest number of faults taken to be there at once; None takes every number, which
    is exact and serves small books. ``kept`` is how many frames it keeps at most; one may take a hundred megabytes.
    """

    def __init__(self, book: Book, size_limit: int | None = 3, kept: int = FRAMES_KEPT) -> None:
        self.book = book
        self.size_limit = size_limit
        self.gates = Gates(book)
        self._frames = Latest[tuple[object, ...], Frame](kept, lambda frame: frame.base.n, ROWS_KEPT)
        self._replays = Latest[tuple[int, tuple[Entry, ...]], Replay](
            min(REPLAYS_KEPT, kept), lambda replay: len(replay.base), ROWS_KEPT
        )
        self._priors: dict[tuple[object, ...], dict[str, ModePriors]] = {}
        self._matrices: dict[str, Floats] = {}

    def believe(self, evidence: Evidence, also: Sequence[str] = ()) -> Belief:
        """Belief given everything in ``evidence``, ``also`` over further faults. Raises UnknownName, BadAnswer."""
        return Belief(self, evidence, self.replay(evidence, also=also))

    def reach(self, evidence: Evidence) -> tuple[str, ...]:
        """The faults that the evidence says anything of. Raises UnknownName."""
        return tuple(sorted(reached(self.book, self.gates, evidence, ())))

    def priors(self, evidence: Evidence) -> Mapping[str, ModePriors]:
        """Prior of every fault's modes under the evidence's hours and circumstances. Raises BadAnswer, UnknownName."""
        hours = self.book.defaults.hours if evidence.hours is None else evidence.hours
        if not 0 < hours < math.inf:
            raise BadAnswer(f"hours since the gear was last known good must be a number above 0, not {hours}")
        circumstances = tuple(sorted(set(evidence.circumstances)))
        key = (circumstances, hours)
        if key not in self._priors:
            self._priors[key] = {
                fault.id: mode_priors(self.book, fault, circumstances, hours) for fault in self.book.faults.values()
            }
        return self._priors[key]

    def frame(self, evidence: Evidence, also: Sequence[str] = ()) -> Frame:
        """The frame of a case; ``also`` names further faults or events that it must reach."""
        priors = self.priors(evidence)
        faults = reached(self.book, self.gates, evidence, also)
        symptoms = first_symptoms(evidence.entries)
        key = (tuple(sorted(set(evidence.circumstances))), evidence.hours, faults, symptoms)
        known = self._frames.get(key)
        if known is not None:
            return known
        frame = Frame(self.book, self.gates, faults, dict(priors), symptoms, self.size_limit, self._matrices)
        return self._frames.put(key, frame)

    def replay(self, evidence: Evidence, *, trace: bool = False, also: Sequence[str] = ()) -> Replay:
        """The rows and their weights after all entries; what was replayed last is gone on from where it fits."""
        frame = self.frame(evidence, also)
        if trace:
            return Replay(frame, trace=True).run(evidence.entries)
        entries = evidence.entries
        begun = max(
            (past for past in self._replays if past.frame is frame and past.taken == entries[: len(past.taken)]),
            key=lambda past: len(past.taken), default=None,
        )  # fmt: skip
        if begun is not None and len(begun.taken) == len(entries):
            return begun
        replay = (begun.fork() if begun is not None else Replay(frame)).run(entries[len(begun.taken) if begun else 0 :])
        return self._replays.put((id(frame), entries), replay)


class Belief:
    """What is believed of one case at one moment. Probabilities are plain floats in 0 … 1.

    ``rows`` (n_rows,) are the weights of the rows of ``replay``, ``unlisted`` that of the unlisted cause.
    """

    def __init__(self, believer: Believer, evidence: Evidence, replay: Replay) -> None:
        self.book = believer.book
        self.evidence = evidence
        self._believer = believer
        self._replay: Replay | None = replay
        self._rows, self.unlisted = replay.weights()

    @property
    def replay(self) -> Replay:
        """The entries replayed; once more where they were let go of."""
        if self._replay is None:
            self._replay = self._believer.replay(self.evidence)
            self._rows, self.unlisted = self._replay.weights()
        return self._replay

    @property
    def rows(self) -> Floats:
        """The weights of the rows, shape (n_rows,)."""
        return self._rows if self._replay is not None else self.replay.weights()[0]

    @property
    def held(self) -> int:
        """How many rows it holds in memory, some 200 bytes each."""
        return 0 if self._replay is None else len(self._rows)

    def let_go(self) -> None:
        """Hold no rows any more. What was asked of it before is still known; for anything else they are made anew."""
        self._replay, self._rows = None, np.empty(0)

    @cached_property
    def listed(self) -> float:
        """Probability that the cause is one that the book knows."""
        return float(self.rows.sum())

    @cached_property
    def faults(self) -> dict[str, FaultBelief]:
        """Every fault of the book: the probability that it stands now."""
        space = self.replay.frame.space
        modes = self.replay.by_mode(self.rows)
        stands = np.bincount(space.mode_fault, weights=modes, minlength=len(space.faults))
        sleeping = np.bincount(space.mode_fault, weights=modes * space.sleeps, minlength=len(space.faults))
        priors, place = self._believer.priors(self.evidence), space.place
        listed, kept = self.listed, self.replay.kept_share
        result = {}
        for fault in self.book.faults:
            i = place.get(fault)
            if i is not None:
                result[fault] = FaultBelief(min(float(stands[i]), 1.0), min(float(sleeping[i]), 1.0))
            else:
                left, prior = listed * kept.get(fault, 1.0), priors[fault]
                result[fault] = FaultBelief(left * (prior.hard + prior.comes_and_goes), left * prior.comes_and_goes)
        return result

    @cached_property
    def as_it_was(self) -> dict[str, float]:
        """Every fault of the book: the probability that it was there at the time of the squawk."""
        space = self.replay.frame.space
        modes = self.replay.was_by_mode(self.rows)
        total = np.bincount(space.mode_fault, weights=modes, minlength=len(space.faults))
        priors = self._believer.priors(self.evidence)
        return {
            fault: min(float(total[space.place[fault]]), 1.0)
            if fault in space.place
            else self.listed * (priors[fault].hard + priors[fault].comes_and_goes)
            for fault in self.book.faults
        }

    @cached_property
    def components(self) -> dict[str, float]:
        """Every component that has a fault: the probability that any fault of it (on any leg) stands."""
        names = list(dict.fromkeys(fault.component for fault in self.book.faults.values()))
        place = {name: i for i, name in enumerate(names)}
        space = self.replay.frame.space
        of_fault = np.array([place[self.book.faults[f].component] for f in space.faults], dtype=np.int64)
        # The place behind the last is for "no mode", whose number -1 points there.
        of_mode = np.append(of_fault[space.mode_fault], len(names))
        total = np.zeros(len(names) + 1)
        seen: list[np.ndarray] = []
        for modes in self.replay.modes.T:
            component, weights = of_mode[modes], self.rows
            for earlier in seen:
                weights = weights * (component != earlier)
            seen.append(component)
            total += np.bincount(component, weights=weights, minlength=len(total))
        return self._with_unreached(names, total[:-1])

    def _with_unreached(self, names: Sequence[str], total: Floats) -> dict[str, float]:
        absent = dict.fromkeys(names, 1.0)
        priors = self._believer.priors(self.evidence)
        for fault in self.book.faults.values():
            if fault.id not in self.replay.frame.space.place:
                prior = priors[fault.id]
                stands = (prior.hard + prior.comes_and_goes) * self.replay.kept_share.get(fault.id, 1.0)
                absent[fault.component] *= 1.0 - stands
        result = {}
        for name, reached_weight in zip(names, total, strict=True):
            clear = max(self.listed - float(reached_weight), 0.0) * absent[name]
            result[name] = min(max(self.listed - clear, 0.0), 1.0)
        return result

    @cached_property
    def left_out(self) -> float:
        """Upper bound on the posterior probability of sets larger than the size limit."""
        return self._left_out()

    def leaves_out_at_most(self, share: float) -> bool:
        """Whether ``left_out`` is no more than that; mostly quicker to say than how much it is."""
        return self._left_out(share) <= share

    def _left_out(self, enough: float = 0.0) -> float:
        """A bound on what is left out, not made any lower once it is down to ``enough`` (0 … 1)."""
        replay = self.replay
        kept = log_sum(np.append(replay.log_weight, replay.log_unlisted))
        low = kept + math.log(enough / (1.0 - enough)) - replay.log_bound if enough > 0 else -math.inf
        beyond = log_weight_beyond(replay.frame.space, replay.bearings, replay.frame.needed(), low) + replay.log_bound
        if not np.isfinite(beyond):
            return 0.0
        return float(np.exp(beyond - np.logaddexp(kept, beyond)))

    @property
    def possible(self) -> bool:
        """Whether the answers can be true together under some listed cause."""
        return bool(np.isfinite(log_sum(self.replay.log_weight)))

    @cached_property
    def conflict_bits(self) -> float | None:
        """log2(product of P(e_i) / P(e)) among listed causes, given the symptoms; None if P(e) is 0.

        Jensen, Chamberlain, Nordahl, Jensen: Analysis in HUGIN of data conflict, UAI 1990 / 1991.
        """
        if not self.possible:
            return None
        together = (log_sum(self.replay.log_weight) - log_sum(self.replay.log_given)) / LOG2
        return self.replay.log2_singles - together

    @cached_property
    def odd_one_out(self) -> tuple[Entry, float] | None:
        """The one answer without which the conflict falls most, and the conflict without it."""
        best: tuple[Entry, float] | None = None
        entries = self.evidence.entries
        for i, entry in enumerate(entries):
            if isinstance(entry, Did | Reported):
                continue
            fewer = Evidence(entries[:i] + entries[i + 1 :], self.evidence.circumstances, self.evidence.hours)
            conflict = self._believer.believe(fewer).conflict_bits
            if conflict is not None and (best is None or conflict < best[1]):
                best = (entry, conflict)
        return best

    @cached_property
    def contradiction(self) -> Contradiction | None:
        """A smallest list of answers that cannot be true together, or None."""
        if self.possible:
            return None
        return smallest_contradiction(self.evidence, self._can_be, self._believer.size_limit)

    def _can_be(self, entries: tuple[Entry, ...]) -> bool:
        fewer = Evidence(entries, self.evidence.circumstances, self.evidence.hours)
        return bool(np.isfinite(log_sum(self._believer.replay(fewer).log_weight)))

    @cached_property
    def log2_evidence(self) -> float:
        """log2 probability of the answers given the symptoms, the unlisted cause included; -inf if nothing is left."""
        replay, frame = self.replay, self.replay.frame
        after = log_sum(np.append(replay.log_weight, replay.log_unlisted))
        if not np.isfinite(after):
            return -math.inf
        return (after - log_sum(np.append(frame.log_given, frame.log_unlisted))) / LOG2

    def outcomes(self, check: str) -> tuple[float, ...]:
        """Probability of each outcome if the check were done next. Raises UnknownName."""
        if check not in self.book.checks:
            raise UnknownName(f"the {self.book.family} book has no check {check!r}")
        asked = self.book.checks[check]
        replay = self._believer.replay(self.evidence, also=_names(asked))
        rows, unlisted = replay.weights()
        chances = []
        for i in range(len(asked.outcomes)):
            one = [1.0 if j == i else 0.0 for j in range(len(asked.outcomes))]
            factor, factor_unlisted = replay.next_reading(asked, one)
            chances.append(min(float(rows @ factor) + unlisted * factor_unlisted, 1.0))
        return tuple(chances)

    @cached_property
    def _trace(self) -> Replay:
        return self._believer.replay(self.evidence, trace=True)

    def weights(self, fault: str) -> tuple[tuple[Entry, float], ...]:
        """Weight of evidence of each answer for a fault, in bits, in the order given (Good, 1950).

        They add up to the change of the fault's log odds since the first epoch's symptoms.
        """
        place = self.replay.frame.space.place
        if fault in place:
            i = place[fault]
            moves = [(step, float(step.before[i]), float(step.after[i])) for step in self._trace.steps]
        else:
            moves = [
                (step, self._odds_unreached(fault, step.listed_before), self._odds_unreached(fault, step.listed_after))
                for step in self._trace.steps
            ]
        return tuple((step.entry, _change(before, after)) for step, before, after in moves)

    def _odds_unreached(self, fault: str, listed: float) -> float:
        """log2 odds of a fault that no answer reaches: it keeps its prior, and can move with U alone."""
        prior = self._believer.priors(self.evidence)[fault]
        there = listed * (prior.hard + prior.comes_and_goes)
        return math.log2(there) - math.log2(1.0 - there) if 0.0 < there < 1.0 else math.inf * (there - 0.5)

    def log_odds(self, fault: str) -> float:
        """log2 odds that a fault was there at the time of the squawk."""
        return self._log_odds(self.replay, fault)

    def prior_log_odds(self, fault: str) -> float:
        """The same after the first epoch's symptoms alone."""
        return self._log_odds(Replay(self.replay.frame), fault)

    def _log_odds(self, replay: Replay, fault: str) -> float:
        if fault in replay.frame.space.place:
            return float(replay.log_odds()[replay.frame.space.place[fault]])
        return self._odds_unreached(fault, replay.listed())


def _change(before: float, after: float) -> float:
    """after - before; a fault that was certain or impossible already, and stays so, has not moved."""
    return 0.0 if before == after else after - before


def _names(check: Check) -> list[str]:
    return [o.when for o in check.outcomes if o.when and o.when != THE_SQUAWK]
