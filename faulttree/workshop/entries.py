"""An entry of the knowledge with all that touches it, as plain data.

What is written once for several legs is one entry here, with a member for each leg; what is told of it is told of
all its members together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from faulttree.book import read_cases
from faulttree.book.files import collect
from faulttree.book.fitted import default_and_each_other
from faulttree.book.legs import without_leg
from faulttree.book.merge import Entry as EntryAsWritten
from faulttree.book.model import Book
from faulttree.book.names import Named, retired_as
from faulttree.book.reader import Loaded, load
from faulttree.book.references import OPTION, TAP
from faulttree.book.sections import noun
from faulttree.workshop.finding import near
from faulttree.workshop.said import fields_of
from faulttree.workshop.touching import Touched, Touching

NOUNS = {
    "symptoms": "symptom", "components": "component", "faults": "fault", "checks": "check", "actions": "action",
    "conditions": "condition", "cautions": "caution", "circumstances": "circumstance", "options": "option",
    "limits": "limit", "events": "event", "equipment": "piece of equipment", "sources": "source",
}  # fmt: skip
"""Sections of a book whose entries can be shown, in the order in which they are looked through."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry. ``id`` as written, ``members`` its ids in the book, one for each leg it has; ``name`` of the first.

    ``written_at`` is ``file:line:column``, "" for what the reader made. ``amended`` tells each amendment by an overlay
    in words. ``fields`` are what it says, ``touched`` what names it and what it names, by title.
    """

    family: str
    kind: str
    id: str
    name: str
    members: tuple[str, ...]
    written_at: str
    amended: tuple[str, ...]
    fields: tuple[tuple[str, str], ...]
    touched: tuple[tuple[str, tuple[Touched, ...]], ...]


class Shelf:
    """One book with where its entries are written, and the regression cases beside it."""

    def __init__(self, book: Book, folders: Sequence[Path]) -> None:
        self.book, self._folders = book, folders
        files, problems = collect(folders, book.family)
        self._loaded: Loaded = load(files, book.family, problems)
        self._ids = {section: _by_written_id(self._loaded, book, section) for section in NOUNS}

    def find(self, asked: str) -> list[tuple[str, str]]:
        """Sections and written ids of what has this id (with or without its leg) or name. Nothing is no error."""
        same = " ".join(asked.split()).casefold()
        found = []
        for section, entries in self._ids.items():
            for written, members in entries.items():
                names = {written, *members, *(name_of(self.book, section, one).casefold() for one in members)}
                if same in names:
                    found.append((section, written))
        exact = [one for one in found if one[1] == asked]
        # What an entry says of itself has its name too, and is no entry of its own.
        return exact or [one for one in found if "/" not in one[1]] or found

    def near(self, asked: str) -> list[str]:
        """The ids most like what was asked for."""
        names = {
            written: name_of(self.book, section, members[0])
            for section, entries in self._ids.items()
            for written, members in entries.items()
            if "/" not in written
        }
        return near(asked, names)

    def retired(self, asked: str) -> str:
        """Of what an overlay retired: what it was, where, why, by whom and when, in words; "" if it is nothing such."""
        gone = retired_as(self._loaded.written, asked)
        if gone is None:
            return ""
        said = f"{noun(gone.section)} `{gone.id}` of {self.book.family} was retired at {gone.retired_at}"
        return f"{said}: {gone.reason}" if gone.reason else said

    def only_with(self, asked: str) -> list[tuple[str, ...]]:
        """The options that bring an entry in which these do not; none where the files do not have it at all."""
        known = self._loaded.names.by_kind
        sections = [section for section in NOUNS if section != "options" and asked in known[section]]
        if not sections:
            return []
        form = self._loaded.written.ids(sections[0])[known[sections[0]][asked].id].form
        fitted = tuple(getattr(form, "fitted", ()) or ())
        return [(one,) for one in fitted] or default_and_each_other(self._loaded.written)[1:]

    def entry(self, section: str, written: str) -> Entry:
        """An entry that ``find`` found."""
        members = self._ids[section][written]
        return Entry(
            family=self.book.family,
            kind=NOUNS[section],
            id=written,
            name=name_of(self.book, section, members[0]),
            members=members,
            written_at=self._written_at(section, written),
            amended=self._amended(section, written),
            fields=tuple(fields_of(self.book, section, members)),
            touched=tuple((title, tuple(all_of)) for title, all_of in self._touching.of(section, members) if all_of),
        )

    @cached_property
    def _touching(self) -> Touching:
        cases = read_cases(self._folders, self.book.family).cases
        return Touching(self.book, cases, self._with_option())

    def _with_option(self) -> Mapping[str, list[Touched]]:
        """By option, the entries that are for aircraft with it alone."""
        found: dict[str, list[Touched]] = {}
        for item in self._loaded.written.items():
            for option in item.fitted:
                found.setdefault(option, []).append(Touched(item.id, item.noun, str(item.spots.key())))
        return found

    def _written_at(self, section: str, written: str) -> str:
        if section == "options":
            groups = self._loaded.written.options.values()
            return next((str(g.spots.key("choices", written)) for g in groups if written in g.form.choices), "")
        entry = self._as_written(section, written)
        return str(entry.spots.key()) if entry is not None else ""

    def _amended(self, section: str, written: str) -> tuple[str, ...]:
        entry = self._as_written(section, written)
        return tuple(
            f"{one.where}: {', '.join(one.fields)} ({one.said or 'no reason said'})"
            for one in (entry.amendments if entry is not None else ())
        )

    def _as_written(self, section: str, written: str) -> EntryAsWritten | None:
        entries = self._loaded.written.entries
        own = written.partition("/")[0].partition("@")[0]
        for place in (section, "chains", "symptoms", "checks", "faults") if section != "options" else ():
            entry = entries[place].get(own) or entries[place].get(without_leg(own)[0])
            if entry is not None:
                return entry
        return None


def name_of(book: Book, section: str, name: str) -> str:
    """The name of an entry; of a caution its words, of a piece of equipment its name."""
    item: Any = getattr(book, section)[name]
    if isinstance(item, str):
        return item
    for field in ("name", "title", "text"):
        if hasattr(item, field):
            return str(getattr(item, field))
    return name


def _by_written_id(loaded: Loaded, book: Book, section: str) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for name in getattr(book, section):
        found.setdefault(_written_id(loaded, section, name), []).append(name)
    return {written: tuple(members) for written, members in found.items()}


def _written_id(loaded: Loaded, section: str, name: str) -> str:
    own, part = (name, "") if "/" not in name else name.split("/", 1)
    for kind in _kinds(section):
        named: Named | None = loaded.names.by_kind.get(kind, {}).get(own)
        if named is not None:
            return named.written_name + (f"/{part}" if part else "")
    return name


def _kinds(section: str) -> Iterator[str]:
    yield {"options": OPTION}.get(section, section)
    if section == "events":
        yield from (TAP, "chains")
