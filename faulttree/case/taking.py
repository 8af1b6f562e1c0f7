"""What each kind of entry does to the state of a case."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from faulttree.advice.barring import wanted_again
from faulttree.belief import Answer, Denied, Did, Found, Reported, plain, unsure
from faulttree.book.model import Book
from faulttree.case.entries import CaseEntry, standing_entries, unconfirmed
from faulttree.case.state import CaseState, Instrument, KnownLimit, Step
from faulttree.conditions import Moves
from faulttree.errors import BadAnswer, BadCase, UnknownName

ENDS_STEP = ("answer", "reading", "skipped", "did", "did-other", "dropped")
"""Entries that end the step in hand."""


def add_up(book: Book, entries: Sequence[CaseEntry]) -> CaseState:
    """The state after all entries. Raises BadCase for an entry that the program does not know or cannot use."""
    state = CaseState(entries=list(entries), unconfirmed=sorted(unconfirmed(entries)))
    moves = Moves(book.conditions)
    for entry in standing_entries(entries):
        if entry.kind not in _TAKE:
            raise BadCase(f"entry {entry.number} is of a kind that this version does not know: {entry.kind!r}")
        state.who = entry.who
        try:
            _TAKE[entry.kind](book, moves, state, entry.data)
        except (LookupError, TypeError, ValueError, AttributeError, UnknownName, BadAnswer) as problem:
            raise BadCase(
                f"entry {entry.number} ({entry.kind}) does not fit this knowledge, or is damaged"
            ) from problem
        if entry.kind in ENDS_STEP:
            state.step = None
    return state


def _opened(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.opened = data
    state.limits = _limits(data)


def _limits(data: Mapping[str, Any]) -> dict[str, KnownLimit]:
    return {
        name: KnownLimit(limit["value"], limit["unit"], limit["reference"])
        for name, limit in data.get("limits", {}).items()
    }


def _knowledge(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """Which book a case goes on with is read from the log before there is a book to add it up with; what a profile
    of the aircraft says besides holds from here on."""
    profile = data.get("profile", {})
    state.opened = {**state.opened, **profile}
    state.limits |= _limits(profile)


def _squawk(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.squawk = data["text"]


def _symptom(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.evidence.append(Reported(data["symptom"]) if data["present"] else Denied(data["symptom"]))


def _untold(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """Nobody can say whether the symptom was there: that is no evidence, and is not asked again."""
    state.untold.append(data["symptom"])


def _settled(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.symptoms_settled = True


def _circumstance(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.circumstances_asked = True
    state.circumstances += [c for c in data["circumstances"] if c not in state.circumstances]


def _hours(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.hours_asked = True
    state.hours, state.hours_assumed = data["hours"], bool(data.get("assumed"))


def _opening(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.opening[data["question"]] = data["answer"]


def _at_hand(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.people = data.get("people", state.people)
    state.lacking = frozenset(data.get("lacking", state.lacking))


def _started(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.step = Step(data["kind"], data["id"], also=tuple(data.get("also", ())))


def _cautions(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.read |= set(data["cautions"])
    if data["step"] in [question.id for question in book.opening]:
        # Read for the answer that stood then; another one has words of its own.
        state.opening_read[data["step"]] = state.opening.get(data["step"])
    if state.step is not None:  # those of the step itself, or later those of a condition set up for it
        state.step = replace(state.step, acknowledged=True)


def _dropped(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.step = None


def _set_up(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.standing = moves.closure(state.standing | {data["condition"]})
    state.ever_stood |= state.standing


def _restored(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.standing = state.standing - {data["condition"]}


def _stands(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """The aircraft still stands as the log says. Who takes a case up reads the cautions of the step in hand anew."""
    state.read = set()
    if state.step is not None:
        state.step = replace(state.step, acknowledged=False)


def _found_standing(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """The aircraft stands otherwise than the log says: a step in hand begins anew."""
    state.standing = moves.closure(data["standing"])
    state.ever_stood |= state.standing
    state.read = set()
    if state.step is not None:
        state.step = replace(state.step, acknowledged=False)


def _limit(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.limits[data["limit"]] = KnownLimit(data["value"], data["unit"], data["reference"])


def _instrument(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.instrument = Instrument(data["name"], data["calibrated"])
    if "unit" in data:  # what was written before instruments were asked for by unit has none
        state.instruments[data["unit"]] = state.instrument


def _answer(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    sure = data.get("sure", True)
    state.evidence.append((plain if sure else unsure)(book, data["check"], data["outcome"]))
    _checked(book, state, data["check"], data["outcome"], sure)


def _reading(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    weights = tuple(float(w) for w in data["weights"])
    state.evidence.append(Answer(data["check"], weights))
    outcomes = book.checks[data["check"]].outcomes
    _checked(book, state, data["check"], outcomes[weights.index(max(weights))].id)


def _checked(book: Book, state: CaseState, check: str, outcome: str, sure: bool = True) -> None:
    again = wanted_again(book, check, outcome)
    state.done = [*(name for name in state.done if name not in again), check]
    state.ever_done.add(check)
    state.passed_over.discard(check)
    state.last_shown.pop(check, None)  # in the order in which they were last done
    state.shown[check] = state.last_shown[check] = outcome
    (state.doubted.discard if sure else state.doubted.add)(check)


def _skipped(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.done.append(data["check"])
    if data.get("reason") not in ("cannot-tell", "does-not-apply") and data["check"] not in state.ever_done:
        state.passed_over.add(data["check"])


def _found(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.evidence.append(Found(data["fault"]))


def _found_other(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.found_other.append(data["text"])


def _did(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.evidence.append(Did(data["action"]))
    state.actions.append(data["action"])
    _new_epoch(book, state)
    state.epoch_actions.append(data["action"])


def _did_other(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """A repair that the book does not know: nothing is believed of it, but it is a repair, and it wants its proof."""
    state.other_repairs.append(data["text"])
    _new_epoch(book, state)
    state.epoch_others += 1


def _new_epoch(book: Book, state: CaseState) -> None:
    """What was shown and done counts for the aircraft as it was; a proof that was done ends what led up to it."""
    if state.proofs_done(book):
        state.epoch_actions, state.epoch_others = [], 0
    state.done, state.shown, state.doubted = [], {}, set()


def _cause(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    if data["fault"] not in state.causes:
        state.causes.append(data["fault"])


def _no_other_cause(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.no_other_cause = True


def _cause_in_words(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.cause_in_words = data["text"]


def _closing(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.closing = True


def _closed(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.closed = True


def _left_open(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.left_open = data["reason"]


def _taken_up(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.left_open = None


def _archived(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    state.archived = data["archived"]


def _note(book: Book, moves: Moves, state: CaseState, data: Mapping[str, Any]) -> None:
    """A note changes nothing that is believed."""


_Take = Callable[[Book, Moves, CaseState, Mapping[str, Any]], None]

_TAKE: dict[str, _Take] = {
    "opened": _opened,
    "knowledge": _knowledge,
    "squawk": _squawk,
    "symptom": _symptom,
    "symptom-untold": _untold,
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
    "stands": _stands,
    "found-standing": _found_standing,
    "limit": _limit,
    "instrument": _instrument,
    "answer": _answer,
    "reading": _reading,
    "skipped": _skipped,
    "found": _found,
    "found-other": _found_other,
    "did": _did,
    "did-other": _did_other,
    "cause": _cause,
    "cause-in-words": _cause_in_words,
    "no-other-cause": _no_other_cause,
    "closing": _closing,
    "closed": _closed,
    "left-open": _left_open,
    "taken-up": _taken_up,
    "archived": _archived,
    "note": _note,
}
