"""The gear of a drill: what is wrong with it, what a check shows on it, what a repair leaves of it.

Nothing here works out a probability of a cause: chances are the book's, and things happen by them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from faulttree.belief.likelihood import matrix
from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.drill.chance import Stream


@dataclass(frozen=True, slots=True)
class Modes:
    """Faults of one gear by the mode that they are in: always there, or asleep at times."""

    hard: frozenset[str] = frozenset()
    sleeping: frozenset[str] = frozenset()

    @property
    def all(self) -> frozenset[str]:
        """Every fault, asleep or not."""
        return self.hard | self.sleeping

    def without(self, faults: Iterable[str]) -> Modes:
        """What is left once these are gone."""
        gone = frozenset(faults)
        return Modes(self.hard - gone, self.sleeping - gone)


@dataclass(frozen=True, slots=True)
class Hidden:
    """What is wrong: ``was`` when the pilot saw it, ``now`` after what somebody did since. ``unlisted``: it is nothing
    that the book knows, and no repair of the book mends it."""

    was: Modes
    now: Modes
    unlisted: bool = False


class Awake:
    """What holds while these faults are awake. ``squawk`` are the symptoms that the squawk stands for."""

    def __init__(self, book: Book, faults: frozenset[str], squawk: Sequence[str] = ()) -> None:
        self.book, self.faults, self.squawk = book, faults, tuple(squawk)
        self._known: dict[str, bool] = {}

    def holds(self, name: str) -> bool:
        """Whether a fault, event, symptom or the squawk (any of its symptoms) holds. Raises KeyError."""
        if name in self.book.faults:
            return name in self.faults
        if name not in self._known:
            self._known[name] = self._worked_out(name)
        return self._known[name]

    def _worked_out(self, name: str) -> bool:
        if name == THE_SQUAWK:
            return any(self.holds(symptom) for symptom in self.squawk)
        if name in self.book.symptoms:
            return self.holds(self.book.symptoms[name].when)
        event = self.book.events[name]
        there = (self.holds(part) for part in event.of)
        if event.gate == "any_of":
            return any(there)
        if event.gate == "all_of":
            return all(there)
        return not any(there) if event.gate == "not" else sum(there) >= event.count


def true_outcome(check: Check, awake: Awake) -> int:
    """The place of the first outcome whose event holds, else of the last."""
    for place, outcome in enumerate(check.outcomes[:-1]):
        if outcome.when and awake.holds(outcome.when):
            return place
    return len(check.outcomes) - 1


class Gear:
    """A gear that is looked at and repaired. ``squawk`` are the symptoms reported.

    ``another`` draws the faults of another gear with the same squawk: what a check shows under a cause that the book
    does not know is what it shows on such a one, drawn anew for each look. With ``plain`` nobody errs: a look shows
    what holds, a pilot tells what was; else both err as often as the book says.
    """

    def __init__(
        self, book: Book, seed: int, squawk: Sequence[str], hidden: Hidden, another: Callable[[Stream], Modes],
        plain: bool = False,
    ) -> None:  # fmt: skip
        self.book, self.seed, self.squawk, self.plain = book, seed, tuple(squawk), plain
        self.was, self.now, self.unlisted = hidden.was, hidden.now, hidden.unlisted
        self._another = another
        self._shown: dict[str, list[int]] = {}
        self._did: list[str] = []

    @property
    def faulty(self) -> bool:
        """Whether a cause of the squawk still stands, asleep or not."""
        return self.unlisted or Awake(self.book, self.now.all, self.squawk).holds(THE_SQUAWK)

    def show(self, name: str) -> str:
        """Does a check: the outcome that it shows.

        Done again since the last repair it mostly repeats itself: with n readings so far one of them comes again
        with n / (a + n), a = fresh / (1 - fresh). What a pilot tells of the squawk is the same after a repair.
        """
        check = self.book.checks[name]
        past = self._shown.setdefault(name, [])
        since = () if _of_squawk(check) else self._did
        stream = Stream(self.seed, "look", name, *since, len(past))
        start = check.fresh / (1.0 - check.fresh)
        if self.plain:
            place = self._true(check, stream)
        elif past and not stream.happens(start / (start + len(past))):
            place = past[stream.below(len(past))]
        else:
            chances = matrix(check)[:, self._true(check, stream)]
            place = stream.place([float(chance) for chance in chances])
        past.append(place)
        return check.outcomes[place].id

    def repair(self, action: str) -> frozenset[str]:
        """Does an action: each fault that it corrects is gone with the probability ``effective``. What is gone."""
        done, stream = self.book.actions[action], Stream(self.seed, "repair", action, *self._did)
        gone = frozenset(f for f in done.corrects if stream.happens(done.effective)) & self.now.all
        self.now = self.now.without(gone)
        self._did.append(action)
        self._shown = {}
        return gone

    def _true(self, check: Check, stream: Stream) -> int:
        proof = next((i for i, outcome in enumerate(check.outcomes) if outcome.when == THE_SQUAWK), None)
        if self.unlisted and proof is not None:
            return proof
        return true_outcome(check, Awake(self.book, self._awake(check, stream), self.squawk))

    def _awake(self, check: Check, stream: Stream) -> frozenset[str]:
        modes = self.was if _of_squawk(check) else self.now
        if self.unlisted:
            modes = self._another(stream)
        if _of_squawk(check):
            return modes.all
        return modes.hard | {f for f in sorted(modes.sleeping) if stream.happens(self._rouses(check, f))}

    def _rouses(self, check: Check, fault: str) -> float:
        shows = self.book.faults[fault].shows
        return shows + check.wakes * (1.0 - shows)


def _of_squawk(check: Check) -> bool:
    """Whether it asks about the squawk as it was."""
    return check.about == "squawk" and not check.proof


@dataclass(frozen=True, slots=True)
class Value:
    """A measured value as an instrument shows it, and the limit that this aircraft's invented manual gives."""

    value: float
    limit: float
    unit: str
    limit_name: str


NEAREST, SCATTER = 3.0, 2.0
"""Standard errors of the instrument by which a value that shows an outcome lies off the limit at least, and the scatter
beyond that, in the same."""


def value_for(book: Book, seed: int, name: str, outcome: str, times: int) -> Value | None:
    """The value with which a check shows an outcome; None where it is not one of the two sides of a known limit.

    Never nearer to the limit than what decides it, so that the value says what the outcome says.
    """
    reading = book.checks[name].reading
    if reading is None or outcome not in (reading.below, reading.above):
        return None
    limit = book.limits[reading.limit]
    if limit.typical is None:
        return None
    step = reading.error or abs(limit.typical) / 100.0
    off = step * (NEAREST + SCATTER * abs(Stream(seed, "value", name, times).normal()))
    value = limit.typical + (off if outcome == reading.above else -off)
    digits = max(0, 1 - math.floor(math.log10(step))) if step > 0 else 0
    shown = round(value, digits)
    if outcome == reading.below and limit.typical > 0 and shown < 0:
        shown = 0.0
    return Value(shown, limit.typical, reading.unit, limit.name)
