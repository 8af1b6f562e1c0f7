"""The cases as a command finds them: the database, the book that a case was worked with, taking a case up again."""

from __future__ import annotations

import getpass
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from faulttree.book.model import Book
from faulttree.case import CaseEntry, changes, opening_of, standing_entries
from faulttree.errors import FaulttreeError
from faulttree.store import Books, Card, Cases, Database, Drills, Profiles, Wanted

from . import newer, places
from .places import BadBook


def user() -> str:
    """Who is at the keyboard, by the name of the login."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "not named"


def signed(by: str | None = None) -> dict[str, str]:
    """By whom (the login, if nobody is named) and on which day what is written now is written, as overlays state it."""
    return {"by": by or user(), "date": datetime.now().astimezone().date().isoformat()}


def _holds_all(name: str, book: Book, entries: Sequence[CaseEntry]) -> None:
    """Refuses a book without a check or a result that a case was answered with."""
    for entry in standing_entries(entries):
        if entry.kind in ("answer", "reading") and not _holds(book, entry):
            raise FaulttreeError(
                f"case {name} was worked with other knowledge, which was not kept here, and in that of now the results "
                f"of {entry.data['check']!r} are others (entry {entry.number}). Make its papers where it was worked, "
                "or with the version that it was worked with"
            )


def _holds(book: Book, entry: CaseEntry) -> bool:
    check = book.checks.get(entry.data["check"])
    if check is None:
        return False
    if entry.kind == "reading":
        return len(entry.data["weights"]) == len(check.outcomes)
    return entry.data["outcome"] in [outcome.id for outcome in check.outcomes]


@dataclass(frozen=True, slots=True)
class GoingOn:
    """The book that a case goes on with. ``instead`` is the one it was worked with so far, where the two differ and
    it is known; ``entry`` is what the log is to say of the change, and ``unless`` where the change is not wanted;
    ``said`` what is to be told, ``news`` what a profile that is new to the case changes, a line each."""

    book: Book
    instead: Book | None = None
    entry: Mapping[str, Any] | None = None
    said: str = ""
    unless: Mapping[str, Any] | None = None
    news: Sequence[str] = ()


LISTED = 9
"""Cases that are listed to choose from: one for each number key."""


class Desk:
    """The database and what lies in it."""

    def __init__(self) -> None:
        self.database = Database(places.database())
        self.cases = Cases(self.database)
        self.books = Books(self.database)
        self.profiles = Profiles(self.database)
        self.drills = Drills(self.database)

    def close(self) -> None:
        """Give the connections back."""
        self.database.close()

    def keep_limit(self, job: str, limit: Mapping[str, Any]) -> str:
        """Keep a limit in the aircraft's profile, for the cases to come; what became of it, in words.

        That it cannot be kept there is no loss to the case at hand.
        """
        try:
            profile = self.profiles.find(job) if job else None
            if profile is None:
                return "The limit is kept for this case. There is no profile to keep it in: see `faulttree aircraft`."
            kept = {key: limit[key] for key in ("value", "unit", "reference")}
            profile = self.profiles.keep(replace(profile, limits={**profile.limits, limit["limit"]: kept}), user())
        except FaulttreeError as problem:
            return f"The limit is kept for this case, but not in the profile: {problem}"
        return f"Kept in the profile of {profile.name}, version {profile.version}."

    def unfinished(self) -> list[Card]:
        """The latest cases that are not closed: those left open too, since what waits for a part is taken up again."""
        states = ("open", "left-open")
        return [card for state in states for card in self.cases.cards(Wanted(state), LISTED)[0]][:LISTED]

    def book_of(self, name: str, entries: Sequence[CaseEntry], overlays: Sequence[str] = ()) -> Book:
        """The book that a case was worked with last; today's where it was not kept.

        Raises BadBook, BadCase; FaulttreeError where today's no longer has what the case holds.
        """
        opened = opening_of(name, entries)
        kept = None if overlays else self.books.find(opened)
        if kept is not None:
            return kept
        now = places.load(opened["family"], opened["fitted"], overlays or opened.get("overlays", []))
        _holds_all(name, now, entries)
        return now

    def going_on(self, name: str, entries: Sequence[CaseEntry], overlays: Sequence[str] = ()) -> GoingOn:
        """The book to go on with. Raises BadBook where there is none at all, BadCase."""
        opened = opening_of(name, entries)
        folders = list(overlays or opened.get("overlays", []))
        job = str(opened.get("job", ""))
        profile = newer.news(self.profiles.find(job) if job else None, opened, entries)
        try:
            now = places.load(opened["family"], (profile or opened)["fitted"], folders)
        except BadBook as problem:
            kept = self.books.find(opened)
            if kept is None:
                raise
            first = str(problem).splitlines()[0]
            return GoingOn(kept, said=f"Today's knowledge cannot be read ({first}); going on with that of then.")
        if now.digest == opened["digest"] and not profile:
            return GoingOn(now)
        going = self._changed(opened, now, entries, folders)
        if not profile:
            return going
        if going.entry is None:
            whose = f"With the equipment in the profile of {profile['aircraft']['name']}"
            return replace(going, said=f"{whose} what this case rests on would be lost; going on as before.")
        return _with_profile(going, profile, opened)

    def _changed(
        self, opened: Mapping[str, Any], now: Book, entries: Sequence[CaseEntry], folders: list[str]
    ) -> GoingOn:
        digests = places.overlay_digests(now.family, folders)
        entry = {"version": now.version, "digest": now.digest, "overlays": folders, "overlay_digests": digests}
        was = self.books.find(opened)
        if was is None:
            answered = [e.number for e in standing_entries(entries) if e.kind in ("answer", "reading")]
            lost = [e.data["check"] for e in entries if e.number in answered and e.data["check"] not in now.checks]
            if lost:
                raise FaulttreeError(
                    f"the knowledge has changed since this case was worked and no longer has {lost[0]!r}; that of "
                    "then was not kept here, so the case cannot be gone on with. Its record can be made where it was "
                    "worked"
                )
            said = "The knowledge of then is not here, so every answer has to be confirmed."
            return GoingOn(now, None, {**entry, "unconfirmed": answered}, said)
        change = changes(was, now, entries)
        if change.lost:
            said = f"The knowledge has changed and no longer has {change.lost[0]}; going on with that of then."
            return GoingOn(was, said=said)
        return GoingOn(now, was, {**entry, "unconfirmed": list(change.unconfirmed)})


def _with_profile(going: GoingOn, profile: Mapping[str, Any], opened: Mapping[str, Any]) -> GoingOn:
    """A changed book that comes, at least in part, of a profile that is new to the case."""
    assert going.entry is not None
    taken = {**profile, "fitted": [f"{group}={option}" for group, option in going.book.fitted.items()]}
    unless = None
    if going.instead is not None:
        unless = {
            "version": going.instead.version, "digest": going.instead.digest, "unconfirmed": [],
            "overlays": opened.get("overlays", []), "overlay_digests": opened.get("overlay_digests", []),
            "profile": newer.left(profile),
        }  # fmt: skip
    lines = newer.differences(taken, opened, going.book)
    return replace(going, entry={**going.entry, "profile": taken}, unless=unless, news=lines)
