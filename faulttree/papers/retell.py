"""A record's JSON back to the entries of its case."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from faulttree.case import CaseEntry
from faulttree.errors import BadCase
from faulttree.papers.record import FORMAT

TEXTS = ("at", "local", "who", "kind", "digest")


def entries_of(paper: Any) -> list[CaseEntry]:
    """The entries of a record. Raises BadCase saying what is wrong with it."""
    if not isinstance(paper, Mapping) or paper.get("paper") != "record":
        raise BadCase("is not a troubleshooting record; give the file of `faulttree record CASE --as json`")
    if paper.get("format") != FORMAT:
        raise BadCase(f"is of format {paper.get('format')!r}; this version reads format {FORMAT}")
    told = paper.get("entries")
    if not isinstance(told, list) or not told:
        raise BadCase("holds no entries")
    return [_entry(place, one) for place, one in enumerate(told, 1)]


def _entry(place: int, told: Any) -> CaseEntry:
    if not isinstance(told, Mapping) or not isinstance(told.get("data"), Mapping):
        raise BadCase(f"entry {place} of the record is no entry")
    wrong = [name for name in TEXTS if not isinstance(told.get(name), str)]
    if wrong or isinstance(told.get("number"), bool) or not isinstance(told.get("number"), int):
        raise BadCase(f"entry {place} of the record lacks {', '.join(wrong) or 'a whole number'}")
    return CaseEntry(told["number"], told["at"], told["who"], told["kind"], told["data"], told["local"], told["digest"])
