"""Taking back any answer, not only the last: nothing is taken out of the log, an entry says what no longer counts."""

from __future__ import annotations

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, last_undoable, standing_entries
from faulttree.case.course import said
from faulttree.case.entries import UNDOABLE
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

VIEW, SURE = "take-back", "take-back-sure"
LISTED = 9
BACK = Choice("b", "back", "back")
COMMAND = Choice("u", "take an answer back", VIEW)


def prompt(book: Book, state: CaseState, first: int = 0) -> Prompt:
    """The answers that can be taken back, the latest first, from the ``first`` of them on."""
    entries = [entry for entry in reversed(standing_entries(state.entries)) if entry.kind in UNDOABLE]
    shown = entries[first : first + LISTED]
    choices = tuple(Choice(str(i), said(book, e), str(e.number)) for i, e in enumerate(shown, 1))
    lines = ["The latest first. What was set up or put back is not among them: it is put right by doing it."]
    left = len(entries) - first - len(shown)
    lines += ["These are the first of them."] if first and not left else []
    older = (Choice("m", f"{left} older", f"{VIEW} {first + LISTED}"),) if left > 0 else ()
    return Prompt(VIEW, "Take which answer back?", tuple(lines), choices, (*older, BACK))


def confirm(book: Book, state: CaseState, number: str) -> Prompt:
    """Asks once more, with the answer in full."""
    entry = next(e for e in state.entries if str(e.number) == number)
    choices = (Choice("y", "take it back", number), Choice("n", "leave it", "back"))
    return Prompt(SURE, "Take this back?", (said(book, entry),), choices, about=number)


def last(book: Book, state: CaseState) -> Reply:
    """Takes the latest answer back."""
    entry = last_undoable(state.entries)
    return Reply(say="There is nothing to take back.") if entry is None else _back(book, state, entry)


def choose(typed: str) -> Reply:
    """Asks about the entry with the number ``typed`` once more, or leads on to older ones."""
    return Reply(view=f"{SURE} {typed}" if typed.isdecimal() else typed)


def accept(book: Book, state: CaseState, typed: str) -> Reply:
    """Takes the entry with the number ``typed`` back."""
    return _back(book, state, next(e for e in state.entries if str(e.number) == typed))


def _back(book: Book, state: CaseState, entry: CaseEntry) -> Reply:
    entries = [NewEntry("undone", {"entry": entry.number})]
    if state.step is None and entry.kind in ("answer", "skipped") and book.checks[entry.data["check"]].kind == "ask":
        # The question goes back among those that may be asked; no step is left in hand by it.
        entries.append(NewEntry("dropped", {"id": entry.data["check"]}))
    if entry.kind in ("squawk", "symptom", "symptom-untold"):
        # Whether there was anything else is asked again: what was reported instead could not be told otherwise.
        settled = [e for e in standing_entries(state.entries) if e.kind == "symptoms-settled"]
        entries += [NewEntry("undone", {"entry": e.number}) for e in settled]
    return Reply(tuple(entries), say=f"Taken back: {said(book, entry)}")
