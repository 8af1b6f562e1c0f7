"""What lists show of a case without reading its log."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Row

from faulttree.case import CaseEntry, standing_entries
from faulttree.store import schema

STATES = ("open", "left-open", "closed")

CHANGES_CARD = frozenset(
    {
        "squawk", "symptom", "found-other", "did-other", "note", "closed", "left-open", "taken-up", "archived",
        "undone", "knowledge", "confirmed",
    }
)  # fmt: skip
"""Kinds of entries after which more of the card than its count, digest and time is different."""

SPOKEN = {"squawk": "text", "found-other": "text", "did-other": "text", "note": "text", "left-open": "reason"}
MOST_WORDS = 20_000


@dataclass(frozen=True, slots=True)
class Card:
    """A case in a list. ``state`` is one of STATES; times are UTC; ``digest`` is the last entry's."""

    name: str
    uid: str
    family: str
    job: str
    squawk: str
    symptoms: tuple[str, ...]
    state: str
    archived: bool
    opened_at: str
    last_at: str
    entries: int
    digest: str


NOT_CLOSED = "not-closed"
"""Cases that are open or were left open."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which cases a list is to show; what is left at its default does not restrict it.

    ``state`` may be ``not-closed`` too. ``words`` must all occur in what was said and written in the case, in any case
    of letters.
    """

    state: str | None = None
    archived: bool = False
    job: str | None = None
    symptom: str | None = None
    words: tuple[str, ...] = ()

    def where(self) -> list[ColumnElement[bool]]:
        """The conditions of a query."""
        table = schema.cases.c
        found: list[ColumnElement[bool]] = [table.archived == self.archived]
        if self.state is not None:
            found.append(table.state != "closed" if self.state == NOT_CLOSED else table.state == self.state)
        if self.job is not None:
            found.append(table.words.contains(f"\n{_folded(self.job)}\n", autoescape=True))
        if self.symptom is not None:
            found.append(table.symptoms.contains(json.dumps(self.symptom), autoescape=True))
        found += [table.words.contains(_folded(word), autoescape=True) for word in self.words]
        return found


def values_of(entries: Sequence[CaseEntry]) -> dict[str, Any]:
    """The columns of a card that follow from the entries, but for its name and uid."""
    stand = standing_entries(entries)
    opened = entries[0].data
    reported = dict.fromkeys(e.data["symptom"] for e in stand if e.kind == "symptom" and e.data["present"])
    said = [str(e.data[SPOKEN[e.kind]]) for e in stand if e.kind in SPOKEN]
    job = str(opened.get("job", ""))
    return {
        "family": str(opened["family"]),
        "job": storable(job),
        "squawk": storable(next((str(e.data["text"]) for e in stand if e.kind == "squawk"), "")),
        "symptoms": json.dumps(list(reported)),
        "state": _state(stand),
        "archived": next((bool(e.data["archived"]) for e in reversed(stand) if e.kind == "archived"), False),
        # The job stands on a line of its own, so that it can be asked for as a whole.
        "words": f"\n{_folded(job)}\n" + _folded("\n".join(said))[:MOST_WORDS],
        "opened_at": entries[0].at,
        **last_of(entries[-1]),
    }


def last_of(entry: CaseEntry) -> dict[str, Any]:
    """The columns that every entry changes."""
    return {"last_at": entry.at, "entries": entry.number, "digest": entry.digest}


def _state(stand: Sequence[CaseEntry]) -> str:
    for entry in reversed(stand):
        if entry.kind in ("closed", "left-open"):
            return entry.kind
        if entry.kind == "taken-up":
            return "open"
    return "open"


def card_of(row: Row[Any]) -> Card:
    """A row of the table as a card."""
    found = row._mapping
    return Card(
        found["name"], found["uid"], found["family"], found["job"], found["squawk"],
        tuple(json.loads(found["symptoms"])), found["state"], bool(found["archived"]), found["opened_at"],
        found["last_at"], found["entries"], found["digest"],
    )  # fmt: skip


def storable(text: str) -> str:
    """Text that every database takes as it is: no null character, no lone surrogate."""
    return text.replace("\x00", "\\x00").encode("utf-8", "backslashreplace").decode()


def _folded(text: str) -> str:
    return storable(text).casefold()
