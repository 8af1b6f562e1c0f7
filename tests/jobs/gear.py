"""One simulated job on a book: what is wrong with a gear is drawn, checks are answered, actions are carried out.

Shares nothing with the program's belief but the book. What is wrong is drawn by rejection (von Neumann, "Various
techniques used in connection with random digits", 1951): gears come from the prior, and those are kept that give the
symptom with every mode awake. The unlisted cause is a gear on which a proof shows the squawk; any other check reads on
it as on another gear with that symptom, drawn once per check and job.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.belief import Evidence
from faulttree.book.model import THE_SQUAWK, Book, Check, OpeningAnswer, OpeningQuestion
from tests.published.simulation import ABSENT, HARD, draw_modes, holds, reads

AT_A_TIME = 20_000
POOL = 4_000
"""Gears kept for each symptom; the jobs draw from them with replacement."""

NOTHING_FIRST, LONE, LACKING = 0.9, 0.1, 0.1
"""Shares of jobs with a harmless opening, with one mechanic alone, and with one piece of equipment missing."""


@dataclass(frozen=True)
class Modes:
    """Faults of one gear by the mode that they are in."""

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


def pool(book: Book, symptom: str, rng: np.random.Generator, count: int = POOL) -> list[Modes]:
    """``count`` gears drawn from the prior that give the symptom. The prior is that of the book's usual hours."""
    faults = np.array(list(book.faults))
    kept: list[Modes] = []
    while len(kept) < count:
        modes = draw_modes(book, Evidence(), rng, AT_A_TIME)
        for row in modes[holds(book, symptom, modes > ABSENT)]:
            kept.append(Modes(frozenset(faults[row == HARD].tolist()), frozenset(faults[row > HARD].tolist())))
    return kept[:count]


class Gear:
    """A gear with something wrong. ``unlisted``: it is nothing that the book knows, and no action mends it."""

    def __init__(self, book: Book, symptom: str, gears: Sequence[Modes], rng: np.random.Generator) -> None:
        self.book, self.symptom, self._gears, self._rng = book, symptom, gears, rng
        self.unlisted = bool(rng.random() < book.symptoms[symptom].unlisted)
        self.was = Modes() if self.unlisted else self._any()
        self.now = self.was
        self._others: dict[str, Modes] = {}

    @property
    def faulty(self) -> bool:
        """Whether a cause of the squawk still stands, asleep or not."""
        return self.unlisted or event_holds(self.book, self.symptom, self.now.all)

    def show(self, check: str) -> str:
        """Does a check: the outcome that it shows."""
        looked = self.book.checks[check]
        true = self.true_outcome(looked)
        shown = int(self._rng.choice(len(looked.outcomes), p=reads(looked, true)))
        return looked.outcomes[shown].id

    def true_outcome(self, check: Check) -> int:
        """The place of the first outcome whose event holds on what is awake at this look, else of the last."""
        proof = next((i for i, outcome in enumerate(check.outcomes) if outcome.when == THE_SQUAWK), None)
        if self.unlisted and proof is not None:
            return proof
        awake = self._awake(check)
        for place, outcome in enumerate(check.outcomes[:-1]):
            if event_holds(self.book, outcome.when or "", awake, self.symptom):
                return place
        return len(check.outcomes) - 1

    def repair(self, action: str) -> None:
        """Does an action: each fault that it corrects is gone with the probability ``effective``."""
        done = self.book.actions[action]
        self.now = self.now.without(fault for fault in done.corrects if self._rng.random() < done.effective)

    def _any(self) -> Modes:
        return self._gears[int(self._rng.integers(len(self._gears)))]

    def _awake(self, check: Check) -> frozenset[str]:
        modes = self.was if check.about == "squawk" else self.now
        if self.unlisted:
            if check.id not in self._others:
                self._others[check.id] = self._any()
            modes = self._others[check.id]
        if check.about == "squawk":
            return modes.all
        roused = {fault for fault in sorted(modes.sleeping) if self._rng.random() < self._rouses(check, fault)}
        return modes.hard | roused

    def _rouses(self, check: Check, fault: str) -> float:
        shows = self.book.faults[fault].shows
        return shows + check.wakes * (1.0 - shows)


def event_holds(book: Book, name: str, awake: frozenset[str], squawk: str | None = None) -> bool:
    """Whether a fault, event, symptom or the squawk itself holds while these faults are awake."""
    if name in book.faults:
        return name in awake
    if name == THE_SQUAWK:
        return squawk is not None and event_holds(book, squawk, awake)
    if name in book.symptoms:
        return event_holds(book, book.symptoms[name].when, awake)
    event = book.events[name]
    there = sum(event_holds(book, part, awake) for part in event.of)
    if event.gate == "not":
        return there == 0
    return there >= {"any_of": 1, "all_of": len(event.of)}.get(event.gate, event.count)


@dataclass(frozen=True)
class Job:
    """A gear, who and what is at hand for it, and what was answered before anything was touched.

    ``people`` None: enough. ``opening`` answers by question.
    """

    number: int
    symptom: str
    gear: Gear
    people: int | None
    lacking: frozenset[str]
    opening: Mapping[str, str]


def draw_job(book: Book, gears: Mapping[str, Sequence[Modes]], seed: int, number: int) -> Job:
    """Job ``number`` of a seed: the same whatever was drawn before. The symptoms take turns."""
    rng = np.random.default_rng([seed, number])
    symptom = symptom_of(book, number)
    opening = _opening(book, rng)
    people = 1 if rng.random() < LONE else None
    lacking: frozenset[str] = frozenset()
    if rng.random() < LACKING:
        lacking = frozenset([list(book.equipment)[int(rng.integers(len(book.equipment)))]])
    return Job(number, symptom, Gear(book, symptom, gears[symptom], rng), people, lacking, opening)


def symptom_of(book: Book, number: int) -> str:
    """The symptom of a job by its number."""
    return list(book.symptoms)[number % len(book.symptoms)]


def _opening(book: Book, rng: np.random.Generator) -> dict[str, str]:
    """Harmless answers to all opening questions, or in some jobs one that wants conditions set up before all else."""
    answers = {question.id: _harmless(question).id for question in book.opening}
    demanding = [(question.id, answer.id) for question in book.opening for answer in question.answers if answer.first]
    if rng.random() >= NOTHING_FIRST and demanding:
        question, answer = demanding[int(rng.integers(len(demanding)))]
        answers[question] = answer
    return answers


def _harmless(question: OpeningQuestion) -> OpeningAnswer:
    return next(answer for answer in question.answers if not answer.first)
