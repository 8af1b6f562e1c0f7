"""What the entries of a case add up to, as belief, advice and the dialogue want it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from faulttree.advice import Situation, follow_ups, found_and_open, proofs_of, standing_for
from faulttree.belief import Denied, Evidence, Reported
from faulttree.belief import Entry as BeliefEntry
from faulttree.book.model import Book, Check
from faulttree.case.entries import CaseEntry


@dataclass(frozen=True, slots=True)
class KnownLimit:
    """A limit that a reading may be judged by: its value, and where in the maker's manual it stands."""

    value: float
    unit: str
    reference: str


@dataclass(frozen=True, slots=True)
class Instrument:
    """What is measured with, and until when its calibration runs, as the mechanic wrote it."""

    name: str
    calibrated: str


@dataclass(frozen=True, slots=True)
class Step:
    """The step in hand: a check or an action that was chosen, whether its cautions were acknowledged, and conditions
    to set up with it that it does not itself need."""

    kind: str
    id: str
    acknowledged: bool = False
    also: tuple[str, ...] = ()


@dataclass
class CaseState:
    """What the entries add up to."""

    opened: Mapping[str, Any] = field(default_factory=dict)
    who: str = ""
    squawk: str = ""
    entries: list[CaseEntry] = field(default_factory=list)
    evidence: list[BeliefEntry] = field(default_factory=list)
    circumstances: list[str] = field(default_factory=list)
    circumstances_asked: bool = False
    symptoms_settled: bool = False
    hours: float | None = None
    hours_asked: bool = False
    hours_assumed: bool = False
    opening: dict[str, str] = field(default_factory=dict)
    opening_read: dict[str, str | None] = field(default_factory=dict)
    people: int | None = None
    lacking: frozenset[str] = frozenset()
    standing: frozenset[str] = frozenset()
    ever_stood: set[str] = field(default_factory=set)
    done: list[str] = field(default_factory=list)
    ever_done: set[str] = field(default_factory=set)
    passed_over: set[str] = field(default_factory=set)
    shown: dict[str, str] = field(default_factory=dict)
    last_shown: dict[str, str] = field(default_factory=dict)
    doubted: set[str] = field(default_factory=set)
    actions: list[str] = field(default_factory=list)
    epoch_actions: list[str] = field(default_factory=list)
    found_other: list[str] = field(default_factory=list)
    other_repairs: list[str] = field(default_factory=list)
    epoch_others: int = 0
    limits: dict[str, KnownLimit] = field(default_factory=dict)
    instrument: Instrument | None = None
    instruments: dict[str, Instrument] = field(default_factory=dict)
    untold: list[str] = field(default_factory=list)
    read: set[str] = field(default_factory=set)
    unconfirmed: list[int] = field(default_factory=list)
    causes: list[str] = field(default_factory=list)
    cause_in_words: str = ""
    no_other_cause: bool = False
    step: Step | None = None
    closing: bool = False
    closed: bool = False
    archived: bool = False
    left_open: str | None = None

    @property
    def reported(self) -> list[str]:
        """Symptoms reported, each once, in order."""
        return list(dict.fromkeys(e.symptom for e in self.evidence if isinstance(e, Reported)))

    @property
    def denied(self) -> list[str]:
        """Symptoms that the pilot denied."""
        return list(dict.fromkeys(e.symptom for e in self.evidence if isinstance(e, Denied)))

    @property
    def cause(self) -> str | None:
        """The cause that was named, the first of several; None where none was."""
        return self.causes[0] if self.causes else None

    @property
    def found_in_words(self) -> bool:
        """Whether something was found that the book does not know, and nothing repaired that it does not know."""
        return len(self.found_other) > len(self.other_repairs)

    def belongs_before(self, check: Check) -> tuple[str, ...]:
        """Checks that should have come before this one, and that were passed over without being done."""
        return tuple(name for name in check.after if name in self.passed_over)

    def beliefs(self) -> Evidence:
        """What belief is worked out from."""
        return Evidence(tuple(self.evidence), tuple(self.circumstances), self.hours)

    def first(self, book: Book) -> tuple[str, ...]:
        """Conditions that the opening answers want set up before anything but a question, and that never stood."""
        wanted: list[str] = []
        for question in book.opening:
            for answer in question.answers:
                if self.opening.get(question.id) == answer.id:
                    wanted += answer.first
        return tuple(c for c in dict.fromkeys(wanted) if c not in self.ever_stood)

    def proofs(self, book: Book) -> tuple[str, ...]:
        """The proofs that end this job: those of the symptoms reported."""
        return proofs_of(book, self.reported)

    def owed(self, book: Book) -> tuple[str, ...]:
        """Follow-up checks still to be done for the actions since the last failed proof, the proofs last.

        One that was answered as not sure is due again.
        """
        return tuple(
            check for check in self.follow_ups(book)
            if not any(name in self.shown and name not in self.doubted for name in standing_for(book, check))
        )  # fmt: skip

    def follow_ups(self, book: Book) -> tuple[str, ...]:
        """All that is due after the actions since the last failed proof, done or not; nothing without an action."""
        if not self.epoch_actions and not self.epoch_others:
            return ()
        return tuple(follow_ups(book, self.epoch_actions, self.proofs(book), self.ever_done))

    def proved(self, book: Book) -> bool:
        """Whether every proof was done after the last action and showed the squawk gone, with nobody in doubt."""
        proofs = self.proofs(book)
        return bool((self.epoch_actions or self.epoch_others) and proofs) and all(
            any(self._passed(book, name) for name in standing_for(book, proof)) for proof in proofs
        )

    def _passed(self, book: Book, check: str) -> bool:
        return self.shown.get(check) == book.checks[check].outcomes[-1].id and check not in self.doubted

    def proofs_done(self, book: Book) -> list[str]:
        """The proofs, and what covers them, that were done since the last action."""
        names = dict.fromkeys(name for proof in self.proofs(book) for name in standing_for(book, proof))
        return [name for name in names if name in self.shown]

    def situation(self, book: Book) -> Situation:
        """Where the job stands, as advice wants it.

        After a failed proof nothing more is owed for that repair; nor as long as something was found and not repaired.
        """
        failed = any(self.shown[name] != book.checks[name].outcomes[-1].id for name in self.proofs_done(book))
        found = self.found_and_open(book)
        owed = () if failed or found else self.owed(book)
        return Situation(
            standing=self.standing, done=frozenset(self.done), first=self.first(book), owed=owed,
            acted=bool(self.actions or self.other_repairs), ever=frozenset(self.ever_done), people=self.people,
            lacking=self.lacking, shown=tuple(self.last_shown.items()), found=found,
            own_words=bool(self.epoch_others),
        )  # fmt: skip

    def found_and_open(self, book: Book) -> frozenset[str]:
        """Faults that were seen and not repaired since; one repaired in the mechanic's own words is not among them."""
        return frozenset() if self.other_repairs else found_and_open(book, self.evidence)
