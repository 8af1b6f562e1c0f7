"""The log of a case, and which of its entries stand.

Nothing is ever changed or taken out. A correction is an entry that names the one it undoes; the state is worked
out anew from all entries that stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.errors import BadCase

UNDOABLE = (
    "squawk",
    "symptom",
    "symptom-untold",
    "circumstance",
    "hours",
    "opening",
    "at-hand",
    "answer",
    "reading",
    "skipped",
    "found",
    "found-other",
    "did",
    "did-other",
    "cause",
    "cause-in-words",
    "no-other-cause",
    "note",
)
"""What an undo takes back. What was set up or restored is a fact of the hangar: it is put right by doing it."""


@dataclass(frozen=True, slots=True)
class CaseEntry:
    """One entry. ``number`` counts from 1; ``at`` is UTC, ``local`` the same moment on the shop's clock, both in
    ISO 8601; ``data`` is plain JSON-able data; ``digest`` ties it to all entries before (see ``chain``)."""

    number: int
    at: str
    who: str
    kind: str
    data: Mapping[str, Any]
    local: str = ""
    digest: str = ""


def standing_entries(entries: Iterable[CaseEntry]) -> list[CaseEntry]:
    """Entries that count, in order: neither undone nor waiting to be confirmed since the knowledge changed."""
    everything = list(entries)
    out = {e.data["entry"] for e in everything if e.kind == "undone"} | unconfirmed(everything)
    out |= {e.data["entry"] for e in everything if e.kind == "confirmed" and not e.data["counts"]}
    return [e for e in everything if e.number not in out and e.kind not in ("undone", "confirmed")]


def unconfirmed(entries: Iterable[CaseEntry]) -> set[int]:
    """Numbers of the answers that wait for a confirmation since the knowledge changed."""
    waiting: set[int] = set()
    for entry in entries:
        if entry.kind == "knowledge":
            waiting |= set(entry.data["unconfirmed"])
        elif entry.kind in ("confirmed", "undone"):
            waiting.discard(entry.data["entry"])
    return waiting


def last_undoable(entries: Sequence[CaseEntry]) -> CaseEntry | None:
    """The latest entry that an undo would take back."""
    return next((e for e in reversed(standing_entries(entries)) if e.kind in UNDOABLE), None)


def opening_of(name: str, entries: Sequence[CaseEntry]) -> Mapping[str, Any]:
    """What the case was opened with; of knowledge and profile, what it was last gone on with. Raises BadCase."""
    if not entries or entries[0].kind != "opened":
        raise BadCase(f"case {name} has no beginning")
    opened = dict(entries[0].data)
    for entry in entries:
        if entry.kind == "knowledge":
            opened |= {key: entry.data[key] for key in ("version", "digest", "overlays")}
            opened["overlay_digests"] = entry.data.get("overlay_digests", [])
            opened |= entry.data.get("profile", {})
    return opened
