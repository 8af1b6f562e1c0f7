"""Closed cases of the made-up family with logs no longer than they must be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from faulttree.book.model import Book
from faulttree.case import CaseEntry
from faulttree.workshop.finds import ClosedCase
from tests.support.small_family import small_book

MENDS = {
    "guard-switch.stuck": "replace-guard-switch",
    "guard-switch.lead-chafed": "mend-lead",
    "motor.brushes-worn": "replace-brushes",
}

New = tuple[str, dict[str, Any]]


def one_repair_for_the_switch() -> Book:
    """The made-up book, where replacing the switch mends its lead too: the repair alone does not tell which it was."""
    book = small_book()
    both = replace(book.actions["replace-guard-switch"], corrects=("guard-switch.stuck", "guard-switch.lead-chafed"))
    return replace(book, actions={**book.actions, both.id: both})


def entries(cause: str | None, *between: New, action: str = "") -> list[New]:
    """From the squawk to the close; ``between`` comes before the repair."""
    ends: list[New] = [("cause", {"fault": cause})] if cause else []
    return [
        ("opened", {"family": "made-up", "fitted": []}),
        ("symptom", {"symptom": "stays-down", "present": True}),
        *between,
        ("did", {"action": action or MENDS[cause or "motor.brushes-worn"]}),
        ("answer", {"check": "cycle-test", "outcome": "gone", "sure": True}),
        *ends,
        ("closed", {}),
    ]  # fmt: skip


def closed(book: Book, *new: New, name: str = "case", minutes: float = 10.0) -> ClosedCase:
    """A case of these entries, so many minutes apart."""
    logged = []
    for number, (kind, data) in enumerate(new, 1):
        at = f"2031-03-14T{8 + int(number * minutes) // 60:02d}:{int(number * minutes) % 60:02d}:00+00:00"
        logged.append(CaseEntry(number, at, "mechanic", kind, data))
    return ClosedCase(name, logged, book, book)


def found(book: Book, fault: str, count: int) -> list[ClosedCase]:
    """So many cases in which a fault was seen."""
    log = entries(fault, ("found", {"fault": fault}))
    return [closed(book, *log, name=f"{fault}-{number}") for number in range(count)]


def answer(check: str, outcome: str) -> New:
    """A plain answer."""
    return ("answer", {"check": check, "outcome": outcome, "sure": True})
