"""The story behind a case, played many times with drawn chances; what remains is counted.

Method: rejection sampling (von Neumann, "Various techniques used in connection with random digits", 1951).
Gears are drawn with faults in them; one that does not give the reported symptoms is thrown away; checks are
done on those that remain, and a gear on which an answer comes out other than it did is thrown away too. Among
the survivors a share of gears with some fault is that fault's probability, up to the error of sampling.

The story shares no code with :mod:`faulttree.belief` and none with the network of :mod:`oracle`: there are no
likelihoods in it, only draws. Repeats are drawn from an urn that is really filled: a repeated reading is a copy
of an earlier one or a new look at the gear with new sleep. The unlisted cause is a gear of its own, and what a
check shows on it is what it shows on another gear, drawn anew for each look from those that give the symptoms.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from faulttree.belief import Answer, Denied, Did, Evidence, Found, Reported
from faulttree.book.model import THE_SQUAWK, Book, Check

Bools = NDArray[np.bool_]
Modes = NDArray[np.int8]
ABSENT, HARD, SLEEPER = 0, 1, 2


@dataclass(frozen=True)
class Survivors:
    """What was counted. ``framed`` gears gave the symptoms, ``count`` of them gave the answers too.

    ``framed_unlisted`` of the first were the unlisted cause, ``unlisted`` of the second.

    ``was``, ``stands`` and ``comes_and_goes`` count gears among the second by fault; ``shown`` counts, for each
    check and outcome, gears on which the check would show it next.
    """

    framed: int
    framed_unlisted: int
    count: int
    was: Mapping[str, int]
    stands: Mapping[str, int]
    comes_and_goes: Mapping[str, int]
    unlisted: int
    shown: Mapping[str, Sequence[int]]


@dataclass
class Gears:
    """Gears that agree with the case so far, one row each; a column per fault in the order of the book."""

    book: Book
    rng: np.random.Generator
    was: Modes
    now: Modes
    unlisted: Bools
    donors: Modes
    squawk: list[str]
    memory: dict[str, list[NDArray[np.int64]]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.was)

    def keep(self, which: Bools) -> None:
        """Throws the other gears away."""
        self.was, self.now, self.unlisted = self.was[which], self.now[which], self.unlisted[which]
        self.memory = {check: [shown[which] for shown in past] for check, past in self.memory.items()}

    def luck(self, chance: float | NDArray[np.float64]) -> Bools:
        """Draws for each gear whether something with this chance happens."""
        return self.rng.random(len(self)) < chance

    # symptoms, after the first action

    def meet(self, symptom: str, denied: bool) -> None:
        """A symptom met on the gear as it stands, or asked for and denied."""
        event = self.book.symptoms[symptom].when
        there = holds(self.book, event, self.now > ABSENT)
        there = np.where(self.unlisted, holds(self.book, event, self._others() > ABSENT), there)
        if denied:
            there = ~there | ~self.luck(self.book.symptoms[symptom].noticed)
        self.keep(there)

    def _others(self) -> Modes:
        """For each gear another one that gives the symptoms, as it was."""
        return self.donors[self.rng.integers(len(self.donors), size=len(self))]

    # checks

    def look(self, check: Check) -> NDArray[np.int64]:
        """What a check shows on each gear, as if it had not been done before."""
        old = check.about == "squawk"
        true = self._true(check, self._awake(check, self.was if old else self.now))
        strange = self._true(check, self._awake(check, self._others()))
        proofs = [n for n, outcome in enumerate(check.outcomes) if outcome.when == THE_SQUAWK]
        if proofs:
            strange = np.full(len(self), proofs[0])
        true = np.where(self.unlisted, strange, true)
        shown = np.empty(len(self), np.int64)
        for state in range(len(check.outcomes)):
            rows = true == state
            shown[rows] = self.rng.choice(len(check.outcomes), size=int(rows.sum()), p=reads(check, state))
        return shown

    def _awake(self, check: Check, modes: Modes) -> Bools:
        awake = modes == HARD
        for n, fault in enumerate(self.book.faults.values()):
            roused = self.luck(fault.shows) | self.luck(check.wakes)
            if check.about == "squawk":
                roused = np.ones(len(self), np.bool_)
            awake[:, n] |= (modes[:, n] == SLEEPER) & roused
        return awake

    def _true(self, check: Check, awake: Bools) -> NDArray[np.int64]:
        last = len(check.outcomes) - 1
        true = np.full(len(self), last)
        for n in reversed(range(last)):
            true[holds(self.book, check.outcomes[n].when or "", awake, self.squawk)] = n
        return true

    def find(self, fault: str) -> NDArray[np.int64]:
        """0 where a fault is seen with one's own eyes, else 1."""
        place = list(self.book.faults).index(fault)
        there = np.where(self.unlisted, self._others()[:, place] > ABSENT, self.now[:, place] > ABSENT)
        d = self.book.defaults
        return np.where(self.luck(np.where(there, d.found_detects, d.found_false_alarm)), 0, 1)

    def reading(self, key: str, fresh: float, new: NDArray[np.int64]) -> NDArray[np.int64]:
        """``new`` or a copy of an earlier reading: the urn starts with ``fresh / (1 - fresh)`` balls that say "new"."""
        past = self.memory.get(key, [])
        start = fresh / (1.0 - fresh)
        ball = self.rng.random(len(self)) * (start + len(past))
        shown = new.copy()
        for n, earlier in enumerate(past):
            drawn = (ball >= start + n) & (ball < start + n + 1)
            shown[drawn] = earlier[drawn]
        return shown

    def tell(self, key: str, fresh: float, new: NDArray[np.int64], weights: Sequence[float]) -> None:
        """Keeps the gears on which the answer comes out as it did."""
        shown = self.reading(key, fresh, new)
        self.memory.setdefault(key, []).append(shown)
        self.keep(self.luck(np.asarray(weights)[shown]))

    # actions

    def repair(self, action: str) -> None:
        """Removes what the action corrects; what was read before is not copied any more."""
        done = self.book.actions[action]
        for n, fault in enumerate(self.book.faults):
            if fault in done.corrects:
                self.now[self.luck(done.effective), n] = ABSENT
        self.memory = {}


def holds(book: Book, item: str, shown: Bools, squawk: Sequence[str] = ()) -> Bools:
    """Whether an item holds, for each row of ``shown`` (gears by faults)."""
    if item in book.faults:
        return shown[:, list(book.faults).index(item)]
    if item == THE_SQUAWK:
        parts = [holds(book, book.symptoms[s].when, shown) for s in squawk]
        return np.any([np.zeros(len(shown), np.bool_), *parts], axis=0)
    if item in book.symptoms:
        return holds(book, book.symptoms[item].when, shown)
    event = book.events[item]
    # An event may have nothing below it on an aircraft that lacks the parts.
    count = np.sum([np.zeros(len(shown), np.bool_), *(holds(book, part, shown) for part in event.of)], axis=0)
    least = {"any_of": 1, "all_of": len(event.of), "not": 1}.get(event.gate, event.count)
    enough: Bools = count >= least
    return ~enough if event.gate == "not" else enough


def reads(check: Check, true: int) -> list[float]:
    """The chances of what a check shows when ``true`` is so."""
    if check.matrix is not None:
        return [row[true] for row in check.matrix]
    last = len(check.outcomes) - 1
    sound = [check.false_alarm / last] * last + [1.0 - check.false_alarm]
    if true == last:
        return sound
    hit = check.outcomes[true].detects
    others = sum(p for n, p in enumerate(sound) if n != true)
    return [hit if n == true else (1.0 - hit) * p / others for n, p in enumerate(sound)]


def draw_modes(book: Book, evidence: Evidence, rng: np.random.Generator, count: int) -> Modes:
    """Modes of all faults of ``count`` gears."""
    modes = np.zeros((count, len(book.faults)), np.int8)
    hours = book.defaults.hours if evidence.hours is None else evidence.hours
    for n, fault in enumerate(book.faults.values()):
        expected = (fault.rate or 0.0) * hours / 1000.0
        if fault.probability is not None:
            expected = -float(np.log(1.0 - fault.probability))
        hard = expected * (1.0 - fault.share) * _factor(book, evidence, n, 0)
        asleep = expected * fault.share * _factor(book, evidence, n, 1)
        ball = rng.random(count)
        edge = 1.0 - float(np.exp(-hard))
        modes[ball < edge, n] = HARD
        modes[(ball >= edge) & (ball < edge + 1.0 - float(np.exp(-asleep))), n] = SLEEPER
    return modes


def _factor(book: Book, evidence: Evidence, fault: int, mode: int) -> float:
    """What the circumstances make of the rate of one mode."""
    about = list(book.faults.values())[fault]
    product = 1.0
    for circumstance in (book.circumstances[name] for name in evidence.circumstances):
        product *= circumstance.promotes[mode] if circumstance.id in about.promoted_by else 1.0
        product *= circumstance.demotes[mode] if circumstance.id in about.demoted_by else 1.0
        product *= circumstance.intermittent[mode] if 0.0 < about.share < 1.0 else 1.0
        product *= circumstance.steady if about.share == 0.0 else 1.0
    return float(np.clip(product, book.defaults.factor_low, book.defaults.factor_high))


def _frame(book: Book, evidence: Evidence, rng: np.random.Generator, count: int) -> Gears:
    """Gears with the symptoms that were spoken of before any action; some turned into the unlisted cause."""
    first = list(evidence.entries)
    for n, entry in enumerate(first):
        if isinstance(entry, Did):
            first = first[:n]
            break
    reported = [e.symptom for e in first if isinstance(e, Reported)]
    denied = dict.fromkeys(e.symptom for e in first if isinstance(e, Denied))
    was = draw_modes(book, evidence, rng, count)
    nobody = np.zeros(count, np.bool_)
    gears = Gears(book, rng, was, was, nobody, was, list(dict.fromkeys(reported)))
    for symptom in reported:
        gears.keep(holds(book, symptom, gears.was > ABSENT))
    for symptom in denied:
        there = holds(book, symptom, gears.was > ABSENT)
        gears.keep(~(there & gears.luck(book.symptoms[symptom].noticed)))
    gears.donors = gears.was
    gears.unlisted = gears.luck(max((book.symptoms[s].unlisted for s in reported), default=0.0))
    gears.was = np.where(gears.unlisted[:, None], np.int8(ABSENT), gears.was)
    gears.now = gears.was.copy()
    return gears


def _play(gears: Gears, evidence: Evidence) -> None:
    """Takes the entries one by one."""
    acted = False
    met: set[Reported | Denied] = set()
    heard: list[str] = []
    for entry in evidence.entries:
        if isinstance(entry, Did):
            gears.repair(entry.action)
            gears.squawk += [s for s in heard if s not in gears.squawk]
            acted, met, heard = True, set(), []
        elif isinstance(entry, Found):
            gears.tell(f"found {entry.fault}", gears.book.defaults.fresh, gears.find(entry.fault), (1.0, 0.0))
        elif isinstance(entry, Answer):
            check = gears.book.checks[entry.check]
            gears.tell(check.id, check.fresh, gears.look(check), entry.weights)
        elif acted and entry not in met:
            met.add(entry)
            gears.meet(entry.symptom, isinstance(entry, Denied))
            heard += [entry.symptom] if isinstance(entry, Reported) else []


def play(
    book: Book, evidence: Evidence, rng: np.random.Generator, gears: int, next_checks: Sequence[str] = ()
) -> Survivors:
    """Draws ``gears`` gears, plays the case on them and counts what is left."""
    left = _frame(book, evidence, rng, gears)
    framed, strange = len(left), int(left.unlisted.sum())
    _play(left, evidence)

    def count(which: Bools) -> dict[str, int]:
        return {fault: int(which[:, n].sum()) for n, fault in enumerate(book.faults)}

    shown = {}
    for name in next_checks:
        check = book.checks[name]
        readings = left.reading(name, check.fresh, left.look(check))
        shown[name] = [int((readings == n).sum()) for n in range(len(check.outcomes))]
    was, stands, sleeping = count(left.was > ABSENT), count(left.now > ABSENT), count(left.now == SLEEPER)
    return Survivors(framed, strange, len(left), was, stands, sleeping, int(left.unlisted.sum()), shown)
