"""What a closed case teaches: which cause was found, by what, and what its checks showed of it.

A cause that was only named at the end is a guess: counted, it would teach the book what the book had proposed. So one
counts if it was seen, if of all that can bring the squawk about the proved repair mends it alone, or if a check showed
what it alone brings about.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from faulttree.belief import Answer, Denied, Did, Found, Reported
from faulttree.belief.likelihood import matrix
from faulttree.book.legs import without_leg
from faulttree.book.model import THE_SQUAWK, Book, Check, Fault
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.graph.gates import Gates

SEEN, MENDED_ALONE, SHOWN_ALONE = "seen", "mended alone", "shown alone"
"""What a cause was found by."""

IN_WORDS = "the cause is one that the book does not know"
GUESSED = "the cause was named and not found"
GONE = "today's book no longer has the cause"
ELSEWHERE = "by the book the cause does not bring the squawk about"
"""Why a closed case does not count."""

PLAIN_ENOUGH = 0.95
"""An answer with so much on one outcome counts as that outcome; one in doubt does not count."""


@dataclass(frozen=True, slots=True)
class ClosedCase:
    """A closed case. ``book`` is the one it was worked with, ``today`` that of now at the aircraft's options.

    ``taught`` is the fault that today's book has for a cause which was found in own words, as a case of the knowledge
    says; "" where none does.
    """

    name: str
    entries: Sequence[CaseEntry]
    book: Book
    today: Book
    taught: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a check showed before anything was repaired: the places of the outcome shown and of the true one, and the
    chance beforehand that the cause was awake."""

    check: str
    shown: int
    true: int
    awake: float


@dataclass(frozen=True, slots=True)
class Find:
    """A cause that was found. ``fault`` is the id of today's book; symptoms are those of the first squawk."""

    case: str
    fault: str
    by: str
    symptoms: tuple[str, ...]
    denied: tuple[str, ...]
    circumstances: tuple[str, ...]
    hours: float | None
    readings: tuple[Reading, ...]


def written_fault(fault: Fault) -> str:
    """The id under which a fault stands in the files: one for all its legs."""
    return without_leg(fault.id)[0] if fault.leg else fault.id


def written_check(check: Check) -> str:
    """The id under which a check stands in the files: one for all its legs."""
    return without_leg(check.id)[0] if check.leg else check.id


class Alone:
    """What each fault of a book brings about alone and awake."""

    def __init__(self, book: Book) -> None:
        self.book, self.faults = book, list(book.faults)

    def bring(self, symptoms: Sequence[str]) -> tuple[str, ...]:
        """The faults of which each alone brings all of the symptoms about; what the book does not have, none does."""
        if not all(symptom in self._symptoms for symptom in symptoms):
            return ()
        every = np.ones(len(self.faults), dtype=np.bool_)
        for symptom in symptoms:
            every &= self._symptoms[symptom]
        return tuple(self.faults[i] for i in np.flatnonzero(every))

    def brings(self, fault: str, symptom: str) -> bool:
        """Whether one fault does."""
        return symptom in self._symptoms and bool(self._symptoms[symptom][self._place[fault]])

    def outcome(self, check: Check, fault: str) -> int:
        """The place of the true outcome of a check that asks for no squawk."""
        for place, outcome in enumerate(check.outcomes[:-1]):
            if outcome.when is not None and self._outcomes[outcome.when][self._place[fault]]:
                return place
        return len(check.outcomes) - 1

    @cached_property
    def _place(self) -> dict[str, int]:
        return {fault: i for i, fault in enumerate(self.faults)}

    @cached_property
    def _symptoms(self) -> dict[str, np.ndarray]:
        whens = {symptom.id: symptom.when for symptom in self.book.symptoms.values()}
        holds = self._truth(list(whens.values()))
        return {symptom: holds[when] for symptom, when in whens.items()}

    @cached_property
    def _outcomes(self) -> dict[str, np.ndarray]:
        return self._truth([o.when for c in self.book.checks.values() for o in c.outcomes if _looks(o.when)])

    def _truth(self, ids: Sequence[str | None]) -> dict[str, np.ndarray]:
        """Whether each event holds, (n_faults,), with one fault at a time."""
        names = [name for name in dict.fromkeys(ids) if name]
        alone = np.packbits(np.eye(len(self.faults), dtype=np.bool_), axis=1)
        packed = Gates(self.book).truth(names, self.faults, alone)
        return {name: np.unpackbits(bits)[: len(self.faults)].astype(np.bool_) for name, bits in packed.items()}


def _looks(when: str | None) -> bool:
    return when is not None and when != THE_SQUAWK


def find_in(case: ClosedCase, alone: Alone) -> Find | str:
    """The cause that a closed case found, or why it does not count; of several the one named first.

    ``alone`` is that of today's book.
    """
    state = add_up(case.book, case.entries)
    named = state.cause or (case.taught if state.found_other else "")
    if not named:
        return IN_WORDS if state.found_other else GUESSED
    if named not in case.today.faults:
        return GONE
    before = _before_repair(state)
    symptoms = tuple(dict.fromkeys(e.symptom for e in before if isinstance(e, Reported)))
    able = alone.bring(symptoms)
    if named not in able:
        return ELSEWHERE
    answers = list(_answers(case.today, [e for e in before if isinstance(e, Answer)]))
    cause = case.today.faults[named]
    by, telling = _found_by(state, alone, cause, able, answers) if state.cause else (SEEN, "")
    if not by:
        return GUESSED
    readings = tuple(
        Reading(check.id, shown, alone.outcome(check, cause.id), _awake(cause, check))
        for check, shown in answers if check.id != telling
    )  # fmt: skip
    denied = tuple(dict.fromkeys(e.symptom for e in before if isinstance(e, Denied)))
    return Find(case.name, cause.id, by, symptoms, denied, tuple(state.circumstances), state.hours, readings)


def _before_repair(state: CaseState) -> list[object]:
    """The evidence before the first repair: afterwards it is another gear."""
    first = next((i for i, e in enumerate(state.evidence) if isinstance(e, Did)), len(state.evidence))
    return list(state.evidence[:first])


def _found_by(
    state: CaseState, alone: Alone, cause: Fault, able: Sequence[str], answers: Sequence[tuple[Check, int]]
) -> tuple[str, str]:
    """What the cause was found by, "" if it was not; and the check that told it, whose answer then proves itself."""
    book, written = alone.book, written_fault(cause)
    if any(isinstance(e, Found) and e.fault == cause.id for e in state.evidence):
        return SEEN, ""
    repairs = [book.actions[a] for a in (state.epoch_actions or state.actions) if a in book.actions]
    mended = {written_fault(book.faults[f]) for a in repairs for f in a.corrects if f in able}
    if mended == {written} and not state.other_repairs:
        return MENDED_ALONE, ""
    for check, shown in answers:
        others = {written_fault(book.faults[f]) for f in able if alone.outcome(check, f) == shown}
        if others == {written} and alone.outcome(check, cause.id) == shown:
            return SHOWN_ALONE, check.id
    return "", ""


def _answers(book: Book, answers: Sequence[Answer]) -> Iterator[tuple[Check, int]]:
    """Checks with the place of what they showed, where it was plain; repeats mostly repeat their errors and do not
    count, nor do proofs, which ask for the squawk."""
    seen: set[str] = set()
    for answer in answers:
        check = book.checks.get(answer.check)
        if check is None or check.id in seen or len(answer.weights) != len(check.outcomes):
            continue
        if any(outcome.when == THE_SQUAWK for outcome in check.outcomes) or max(answer.weights) < PLAIN_ENOUGH:
            continue
        seen.add(check.id)
        yield check, answer.weights.index(max(answer.weights))


def _awake(fault: Fault, check: Check) -> float:
    """The chance that a fault is awake when a check looks; about the squawk it was."""
    if check.about == "squawk":
        return 1.0
    return 1.0 - fault.share * (1.0 - fault.shows) * (1.0 - check.wakes)


@dataclass(slots=True)
class Tally:
    """How often a check was right and wrong where its event held (by outcome: shown, missed), and on a gear that was
    sound as far as it looks. A cause that may have slept counts in parts: as far as what was shown speaks for each."""

    shown: dict[str, float]
    missed: dict[str, float]
    quiet: float = 0.0
    alarms: float = 0.0


def tallies(book: Book, readings: Sequence[Reading]) -> dict[str, Tally]:
    """The tallies of all checks of a book that were done, by the id under which each stands in the files."""
    found: dict[str, Tally] = {}
    for reading in readings:
        check = book.checks[reading.check]
        tally = found.setdefault(written_check(check), Tally({}, {}))
        last, true, shown = len(check.outcomes) - 1, reading.true, reading.shown
        held = 0.0
        if true != last:
            table = matrix(check)
            awake, asleep = reading.awake * table[shown, true], (1.0 - reading.awake) * table[shown, last]
            held = float(awake / (awake + asleep)) if awake + asleep > 0.0 else 1.0
            side = tally.shown if shown == true else tally.missed
            outcome = check.outcomes[true].id
            side[outcome] = side.get(outcome, 0.0) + held
        if shown == last:
            tally.quiet += 1.0 - held
        else:
            tally.alarms += 1.0 - held
    return found
