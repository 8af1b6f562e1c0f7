"""Going on with a book that has changed since the case was last worked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from faulttree.book.model import Book, Check
from faulttree.case.entries import CaseEntry, standing_entries


@dataclass(frozen=True, slots=True)
class Change:
    """``unconfirmed`` are the numbers of answers whose check now asks or offers something else; ``lost`` names what
    the case rests on and the new book does not have: with any of it the case keeps the book that it has."""

    unconfirmed: tuple[int, ...]
    lost: tuple[str, ...]


def changes(old: Book, new: Book, entries: Sequence[CaseEntry]) -> Change:
    """What becomes of a case's entries under a new book."""
    unconfirmed, lost = [], []
    for entry in standing_entries(entries):
        if entry.kind in ("answer", "reading", "skipped"):
            name = entry.data["check"]
            if name not in new.checks:
                lost.append(f"check {name!r} (entry {entry.number})")
            elif entry.kind != "skipped" and _meaning(old.checks[name]) != _meaning(new.checks[name]):
                unconfirmed.append(entry.number)
        else:
            lost += [
                f"{what} {name!r} (entry {entry.number})" for what, name in _named(entry) if not _in(new, what, name)
            ]
    return Change(tuple(unconfirmed), tuple(dict.fromkeys(lost)))


def _meaning(check: Check) -> tuple[object, ...]:
    """What whoever answered had before them; how far the answer is to be trusted may change without asking again."""
    outcomes = tuple((o.id, o.label) for o in check.outcomes)
    return (
        check.name,
        check.kind,
        check.about,
        check.ask,
        check.how,
        check.healthy,
        outcomes,
        check.needs,
        check.reading,
    )


def _named(entry: CaseEntry) -> list[tuple[str, str]]:
    data = entry.data
    match entry.kind:
        case "symptom":
            return [("symptom", data["symptom"])]
        case "circumstance":
            return [("circumstance", name) for name in data["circumstances"]]
        case "opening":
            return [("question", data["question"])]
        case "set-up" | "restored":
            return [("condition", data["condition"])]
        case "found-standing":
            return [("condition", name) for name in data["standing"]]
        case "found" | "cause":
            return [("fault", data["fault"])]
        case "did":
            return [("action", data["action"])]
        case _:
            return []


def _in(book: Book, what: str, name: str) -> bool:
    if what == "question":
        return any(question.id == name for question in book.opening)
    known = {
        "symptom": book.symptoms, "circumstance": book.circumstances, "condition": book.conditions,
        "fault": book.faults, "action": book.actions,
    }  # fmt: skip
    return name in known[what]
