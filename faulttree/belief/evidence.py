"""What a case tells belief, as plain data: symptoms, answers, finds and corrective actions, in order."""

from __future__ import annotations

import math
from dataclasses import dataclass

from faulttree.book.model import Book, Check
from faulttree.errors import BadAnswer, UnknownName


@dataclass(frozen=True, slots=True)
class Reported:
    """A symptom that the pilot reported, or that was met again."""

    symptom: str


@dataclass(frozen=True, slots=True)
class Denied:
    """A symptom that the pilot was asked about and denied."""

    symptom: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What a check showed: one weight per outcome, in the book's order. A plain answer is 1 on its outcome."""

    check: str
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """A fault seen with one's own eyes."""

    fault: str


@dataclass(frozen=True, slots=True)
class Did:
    """A corrective action carried out. It ends an epoch."""

    action: str


Entry = Reported | Denied | Answer | Found | Did


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that belief knows of a case. ``hours`` is the time since the gear was last known good."""

    entries: tuple[Entry, ...] = ()
    circumstances: tuple[str, ...] = ()
    hours: float | None = None


def outcome_index(check: Check, outcome: str) -> int:
    """The place of ``outcome`` among the check's outcomes. Raises BadAnswer if it has no such outcome."""
    ids = [o.id for o in check.outcomes]
    if outcome not in ids:
        raise BadAnswer(f"{check.id} has no outcome {outcome!r}; it has: {', '.join(ids)}")
    return ids.index(outcome)


def find_check(book: Book, check: str) -> Check:
    """The check with that id. Raises UnknownName."""
    if check not in book.checks:
        raise UnknownName(f"the {book.family} book has no check {check!r}")
    return book.checks[check]


def plain(book: Book, check: str, outcome: str) -> Answer:
    """The answer "it showed this". Raises UnknownName, BadAnswer."""
    asked = find_check(book, check)
    place = outcome_index(asked, outcome)
    return Answer(check, tuple(1.0 if i == place else 0.0 for i in range(len(asked.outcomes))))


def unsure(book: Book, check: str, outcome: str) -> Answer:
    """The answer "this, I think": the book's ``not_sure`` there, the rest spread over the other outcomes."""
    asked = find_check(book, check)
    place = outcome_index(asked, outcome)
    sure = book.defaults.not_sure
    rest = (1.0 - sure) / (len(asked.outcomes) - 1)
    return Answer(check, tuple(sure if i == place else rest for i in range(len(asked.outcomes))))


def measured(book: Book, check: str, value: float, limit: float) -> Answer:
    """The answer that a reading gives: the chance that the true value lies on either side of its limit.

    ``value`` and ``limit`` are in the unit of the check's reading, whose error is one standard deviation.
    A value at a limit without error counts as above. Raises UnknownName; BadAnswer where the check takes
    no reading or a number is not finite.
    """
    asked = find_check(book, check)
    reading = asked.reading
    if reading is None:
        raise BadAnswer(f"{check} takes no reading; answer it with one of its outcomes")
    if not (math.isfinite(value) and math.isfinite(limit)):
        raise BadAnswer(f"{check}: a reading and its limit must be finite numbers")
    if reading.error > 0:
        above = 0.5 * math.erfc((limit - value) / (reading.error * math.sqrt(2.0)))
    else:
        above = 1.0 if value >= limit else 0.0
    side = {outcome_index(asked, reading.above): above, outcome_index(asked, reading.below): 1.0 - above}
    return Answer(check, tuple(side.get(i, 0.0) for i in range(len(asked.outcomes))))
