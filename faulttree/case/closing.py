"""What keeps a case open: the rules under which it may be closed at all."""

from __future__ import annotations

from faulttree.book.model import Book
from faulttree.case.state import CaseState


def keeps_open(book: Book, state: CaseState) -> list[str]:
    """Why the case cannot be closed yet, one sentence each; empty if it can."""
    reasons = [f"{book.conditions[c].name} still stands" for c in book.conditions if c in state.standing]
    reasons += [
        f"follow-up check {'answered as not sure' if c in state.doubted else 'not done'}: {book.checks[c].name}"
        for c in state.owed(book)
    ]
    reasons += [f"found, and no repair of it: {book.faults[f].name}" for f in sorted(state.found_and_open(book))]
    if state.unconfirmed:
        reasons.append("answers given under other knowledge are neither confirmed nor taken back")
    if not state.proved(book):
        reasons.append("the squawk is not proved gone: no repair with a passed proof after it")
    in_words = bool(state.cause_in_words or state.found_other)
    if state.cause is None and not in_words:
        reasons.append("no cause is named")
    left = [] if in_words else [cause for cause in state.causes if not _corrected(book, state, cause)]
    reasons += [f"no repair that was done corrects the cause named: {book.faults[cause].name}" for cause in left]
    return reasons


def _corrected(book: Book, state: CaseState, fault: str) -> bool:
    return bool(state.other_repairs) or any(fault in book.actions[a].corrects for a in state.actions)
