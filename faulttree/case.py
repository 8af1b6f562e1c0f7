"""A case: an append-only list of entries, and what they add up to. Pure: no clock, no files.

Nothing is ever changed or taken out. A correction is an entry that names the one it undoes; the state is worked
out anew from all entries that stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from faulttree.advice import Situation, follow_ups, proofs_of
from faulttree.belief import Answer, Denied, Did, Evidence, Found, Reported, plain, unsure
from faulttree.belief import Entry as BeliefEntry
from faulttree.book.model import Book
from faulttree.conditions import Moves
from faulttree.errors import BadCase

UNDOABLE = (
    "symptom",
    "circumstance",
    "opening",
    "at-hand",
    "answer",
    "reading",
    "skipped",
    "found",
    "found-other",
    "did",
    "cause",
)
"""What an undo takes back. What was set up or restored is a fact of the hangar: it is put right by doing it."""

ENDS_STEP = ("answer", "reading", "skipped", "did", "dropped")
"""Entries that end the step in hand."""


@dataclass(frozen=True, slots=True)
class CaseEntry:
    """One entry. ``number`` counts from 1; ``at`` is UTC in ISO 8601; ``data`` is plain JSON-able data."""

    number: int
    at: str
    who: str
    kind: str
    data: Mapping[str, Any]


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
    squawk: str = ""
    entries: list[CaseEntry] = field(default_factory=list)
    evidence: list[BeliefEntry] = field(default_factory=list)
    circumstances: list[str] = field(default_factory=list)
    circumstances_asked: bool = False
    symptoms_settled: bool = False
    hours: float | None = None
    hours_asked: bool = False
    opening: dict[str, str] = field(default_factory=dict)
    people: int | None = None
    lacking: frozenset[str] = frozenset()
    standing: frozenset[str] = frozenset()
    ever_stood: set[str] = field(default_factory=set)
    done: list[str] = field(default_factory=list)
    ever_done: set[str] = field(default_factory=set)
    shown: dict[str, str] = field(default_factory=dict)
    actions: list[str] = field(default_factory=list)
    epoch_actions: list[str] = field(default_factory=list)
    found_other: list[str] = field(default_factory=list)
    cause: str | None = None
    step: Step | None = None
    closing: bool = False
    closed: bool = False
    left_open: str | None = None

    @property
    def reported(self) -> list[str]:
        """Symptoms reported, each once, in order."""
        return list(dict.fromkeys(e.symptom for e in self.evidence if isinstance(e, Reported)))

    @property
    def denied(self) -> list[str]:
        """Symptoms that the pilot denied."""
        return list(dict.fromkeys(e.symptom for e in self.evidence if isinstance(e, Denied)))

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
        """Follow-up checks still to be done for the actions since the last failed proof, the proofs last."""
        if not self.epoch_actions:
            return ()
        due = follow_ups(book, self.epoch_actions, self.proofs(book), self.ever_done)
        return tuple(check for check in due if check not in self.shown)

    def proved(self, book: Book) -> bool:
        """Whether every proof was done after the last action and showed the squawk gone."""
        proofs = self.proofs(book)
        return bool(self.epoch_actions and proofs) and all(
            self.shown.get(name) == book.checks[name].outcomes[-1].id for name in proofs
        )

    def situation(self, book: Book) -> Situation:
        """Where the job stands, as advice wants it. After a failed proof nothing more is owed for that repair."""
        failed = any(
            name in self.shown and self.shown[name] != book.checks[name].outcomes[-1].id for name in self.proofs(book)
        )
        owed = () if failed else self.owed(book)
        return Situation(
            standing=self.standing, done=frozenset(self.done), first=self.first(book), owed=owed,
            acted=bool(self.actions), ever=frozenset(self.ever_done), people=self.people, lacking=self.lacking,
        )  # fmt: skip

    def keeps_open(self, book: Book) -> list[str]:
        """Why the case cannot be closed yet, one sentence each; empty if it can."""
        reasons = [f"{book.conditions[c].name} still stands" for c in book.conditions if c in self.standing]
        if self.epoch_actions:
            reasons += [f"follow-up check not done: {book.checks[c].name}" for c in self.owed(book)]
        if not self.proved(book):
            reasons.append("the squawk is not proved gone: no repair with a passed proof after it")
        if self.cause is None and not self.found_other:
            reasons.append("no cause is named")
        return reasons


def standing_entries(entries: Iterable[CaseEntry]) -> list[CaseEntry]:
    """Entries that are not undone, in order."""
    everything = list(entries)
    undone = {e.data["entry"] for e in everything if e.kind == "undone"}
    return [e for e in everything if e.number not in undone and e.kind != "undone"]


def last_undoable(entries: Sequence[CaseEntry]) -> CaseEntry | None:
    """The latest entry that an undo would take back."""
    return next((e for e in reversed(standing_entries(entries)) if e.kind in UNDOABLE), None)


def add_up(book: Book, entries: Sequence[CaseEntry]) -> CaseState:
    """The state after all entries. Raises BadCase for an entry that the program does not know."""
    state = CaseState(entries=list(entries))
    moves = Moves(book.conditions)
    for entry in standing_entries(entries):
        if entry.kind not in _TAKE:
            raise BadCase(f"entry {entry.number} is of a kind that this version does not know: {entry.kind!r}")
        _TAKE[entry.kind](book, moves, state, entry.data)
        if entry.kind in ENDS_STEP:
            state.step = None
    return state


def _opened(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.opened = data


def _squawk(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.squawk = data["text"]


def _symptom(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.evidence.append(Reported(data["symptom"]) if data["present"] else Denied(data["symptom"]))


def _settled(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.symptoms_settled = True


def _circumstance(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.circumstances_asked = True
    state.circumstances += [c for c in data["circumstances"] if c not in state.circumstances]


def _hours(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.hours_asked = True
    state.hours = data["hours"]


def _opening(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.opening[data["question"]] = data["answer"]


def _at_hand(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.people = data.get("people", state.people)
    state.lacking = frozenset(data.get("lacking", state.lacking))


def _started(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.step = Step(data["kind"], data["id"], also=tuple(data.get("also", ())))


def _cautions(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    if state.step is not None and state.step.id == data["step"]:
        state.step = replace(state.step, acknowledged=True)


def _dropped(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.step = None


def _set_up(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.standing = moves.closure(state.standing | {data["condition"]})
    state.ever_stood |= state.standing


def _restored(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.standing = state.standing - {data["condition"]}


def _answer(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    shape = plain if data.get("sure", True) else unsure
    state.evidence.append(shape(book, data["check"], data["outcome"]))
    _checked(state, data["check"], data["outcome"])


def _reading(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    weights = tuple(float(w) for w in data["weights"])
    state.evidence.append(Answer(data["check"], weights))
    outcomes = book.checks[data["check"]].outcomes
    _checked(state, data["check"], outcomes[weights.index(max(weights))].id)


def _checked(state: CaseState, check: str, outcome: str) -> None:
    state.done.append(check)
    state.ever_done.add(check)
    state.shown[check] = outcome


def _skipped(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.done.append(data["check"])


def _found(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.evidence.append(Found(data["fault"]))


def _found_other(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.found_other.append(data["text"])


def _did(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.evidence.append(Did(data["action"]))
    state.actions.append(data["action"])
    proofs = state.proofs(book)
    if any(name in state.shown for name in proofs):
        state.epoch_actions = []
    state.epoch_actions.append(data["action"])
    state.done, state.shown = [], {}


def _cause(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.cause = data["fault"]


def _closing(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.closing = True


def _closed(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.closed = True


def _left_open(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.left_open = data["reason"]


def _note(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """A note changes nothing that is believed."""


_TAKE = {
    "opened": _opened,
    "squawk": _squawk,
    "symptom": _symptom,
    "symptoms-settled": _settled,
    "circumstance": _circumstance,
    "hours": _hours,
    "opening": _opening,
    "at-hand": _at_hand,
    "started": _started,
    "cautions": _cautions,
    "dropped": _dropped,
    "set-up": _set_up,
    "restored": _restored,
    "answer": _answer,
    "reading": _reading,
    "skipped": _skipped,
    "found": _found,
    "found-other": _found_other,
    "did": _did,
    "cause": _cause,
    "closing": _closing,
    "closed": _closed,
    "left-open": _left_open,
    "note": _note,
}
