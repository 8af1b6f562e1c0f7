"""Digests that chain the entries of a case: SHA-256 over an entry and the digest of the one before.

Whoever holds the last digest (a record shows it) can tell whether anything before it was changed, left out, moved or
cut off. The canonical form is JSON with sorted keys and no blanks, in UTF-8.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

from faulttree.case.entries import CaseEntry

SHORTEST = 8
"""Characters of a digest that are enough to name it."""


@dataclass(frozen=True, slots=True)
class Broken:
    """Where a log is not as it was written: the entry's number, and what is wrong."""

    number: int
    what: str


def digest_of(entry: CaseEntry, before: str) -> str:
    """The digest of an entry that follows one with the digest ``before`` ("" for the first), as 64 hex digits."""
    parts = [before, entry.number, entry.at, entry.local, entry.who, entry.kind, entry.data]
    text = json.dumps(parts, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=dict)
    # A lone surrogate is no text that UTF-8 knows, yet must not keep an answer from being stored.
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def chained(entry: CaseEntry, before: str) -> CaseEntry:
    """The entry with its digest."""
    return replace(entry, digest=digest_of(entry, before))


def verify(entries: Sequence[CaseEntry]) -> Broken | None:
    """The first place where the chain does not hold, None where it does."""
    before = ""
    for place, entry in enumerate(entries, 1):
        if entry.number != place:
            what = f"entry {place} is missing" if entry.number > place else f"entry {entry.number} stands twice"
            return Broken(place, what)
        if entry.digest != digest_of(entry, before):
            return Broken(place, f"entry {place} was changed, or comes from elsewhere")
        before = entry.digest
    return None


def holds(entries: Sequence[CaseEntry], digest: str) -> bool:
    """Whether some entry has this digest, or begins with it: all up to there is then as it was when it was shown."""
    wanted = digest.removeprefix("sha256:").lower()
    return len(wanted) >= SHORTEST and any(entry.digest.startswith(wanted) for entry in entries)
