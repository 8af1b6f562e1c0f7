"""A case begun, or taken up again, up to where the loop of the work takes over."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from faulttree.book import families
from faulttree.book.model import Book
from faulttree.case import CaseEntry, add_up, verify
from faulttree.dialogue.prompts import Choice
from faulttree.dialogue.resuming import changed_lines
from faulttree.store.aircraft import Profile

from . import places, settings
from .choosing import choose
from .desk import Desk, GoingOn, user
from .screens import prompt as screens
from .screens import spoken
from .terminal import Terminal


class Left(Exception):
    """The user went away before there was anything to work."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A case at hand: its name, the book, its entries, and what is to be told on the first screen.

    ``begun`` is what a new case begins with, until its first answer: there is no case to keep before that, and it has
    no name yet. ``taken`` is the equipment that nobody named, in words.
    """

    name: str
    book: Book
    entries: list[CaseEntry]
    said: str = ""
    begun: Mapping[str, Any] | None = None
    taken: tuple[str, ...] = ()


def begin(desk: Desk, given: argparse.Namespace, terminal: Terminal, shop: settings.Settings) -> Opened:
    """A new case: the standing cautions, which aircraft, and its first entry."""
    overlays = shop.overlays_and(given.knowledge)
    known = families([places.shipped_book(), *map(Path, overlays)])
    cautions = places.load(given.family or known[0], given.fitted if given.family else [], overlays)
    told = spoken.caution if terminal.plain else screens.caution_box
    family = None
    while True:
        terminal.page(*[told(cautions, caution) for caution in cautions.standing_cautions])
        job = _job(getattr(given, "aircraft", None), terminal)
        profile = desk.profiles.find(job) if job else None
        nearly = _nearly(job, desk.profiles.nearly(job)) if job and profile is None else ""
        family = given.family if given.family or profile is not None else _family(known, overlays, terminal, nearly)
        if family or profile is not None:
            break
    fitted = list(given.fitted)
    if profile is not None:
        # What is said on the command line holds for this case alone, and before the profile.
        said = {option.partition("=")[0] for option in fitted if "=" in option}
        family = profile.family
        fitted += [f"{group}={option}" for group, option in profile.fitted.items() if group not in said]
    book = places.load(family, fitted, overlays)
    data = {
        "family": book.family, "fitted": [f"{g}={o}" for g, o in book.fitted.items()], "job": job,
        "version": book.version, "digest": book.digest, "overlays": [str(Path(d).resolve()) for d in overlays],
        "overlay_digests": places.overlay_digests(book.family, overlays),
        "assumed": list(book.assumed),
        "aircraft": None if profile is None else {"name": profile.name, "version": profile.version},
        "voltage": "" if profile is None else profile.voltage,
        "limits": {} if profile is None else {name: dict(limit) for name, limit in profile.limits.items()},
    }  # fmt: skip
    desk.books.keep(book)
    first = CaseEntry(1, "", "", "opened", data)
    return Opened("", book, [first], _what_is_taken(book, job, profile, nearly), data, _taken(book))


def _job(named: str | None, terminal: Terminal) -> str:
    """Which aircraft. The cautions stay on the screen until they were answered, also where it was named before."""
    if named is None:
        terminal.show("", "Registration or job number, then Enter. Enter alone: not named. q and Enter: leave.")
        typed = terminal.line("> ").strip()
        while typed == "?":
            terminal.show("As it is painted on the aircraft, or as the job card has it; the papers name it so.")
            typed = terminal.line("> ").strip()
        if typed == "q":
            raise Left
        return typed
    terminal.show("", "r read and understood   q quit")
    if terminal.key("> ", ["r", "q"]) == "q":
        raise Left
    return named.strip()


def _nearly(job: str, others: Sequence[str]) -> str:
    """What is told of a registration that may be a known one mistyped."""
    if not others:
        return ""
    return f"There is no profile of {job}, but one of {' and '.join(others[:2])}. Mistyped? b goes back."


def _family(known: Sequence[str], overlays: Sequence[str], terminal: Terminal, nearly: str) -> str:
    """What drives the gear, by a key; nothing is asked where the book knows one kind alone.

    Empty where the user wants back to which aircraft it is. Raises Left.
    """
    if len(known) == 1:
        return known[0]
    keys = {str(number): family for number, family in enumerate(known[:9], 1)}
    kinds = [Choice(key, places.load(family, [], overlays).name, family) for key, family in keys.items()]

    def draw(marked: int | None = None) -> None:
        told = screens.choices(kinds, marked) if not terminal.plain else "\n".join(spoken.choices(kinds))
        above = [nearly, ""] if nearly else []
        question = "What drives the gear of this aircraft?"
        terminal.page(*above, question, "", told, "", "b back   q quit   ? help")

    draw()
    while (pressed := choose(terminal, draw, list(keys), ["b", "q", "?"])) == "?":
        terminal.show("See the aircraft's description of its gear. `faulttree aircraft` keeps it with the aircraft.")
    if pressed is None or pressed == "q":
        raise Left
    return keys.get(pressed, "")


def _what_is_taken(book: Book, job: str, profile: Profile | None, nearly: str) -> str:
    lines = []
    if profile is not None:
        lines.append(f"Profile of {profile.name}, version {profile.version}: {book.name}.")
    elif nearly:
        lines.append(nearly)
    elif job:
        lines.append(f"There is no profile of {job}; `faulttree aircraft {shlex.quote(job)}` makes one, now or later.")
    if book.assumed:
        whence = "What its profile leaves out of its equipment" if profile is not None else "Its equipment"
        lines.append(f"{whence} is taken as usual for this kind of gear; ? lists it.")
    return "\n".join(lines)


def _taken(book: Book) -> tuple[str, ...]:
    """What is taken as usual of the equipment, a line each."""
    groups = {option.partition("=")[0] for option in book.assumed}
    return tuple(
        f"{option.group.replace('-', ' ')}: {option.name}"
        for option in book.options.values() if option.group in groups and option.default
    )  # fmt: skip


def take_up(desk: Desk, name: str, overlays: Sequence[str], terminal: Terminal) -> Opened:
    """A case that was begun before, with the book it goes on with. Raises Left, BadCase, BadBook."""
    entries = desk.cases.read(name)
    if any(entry.kind == "closed" for entry in entries):
        return Opened(name, desk.book_of(name, entries, overlays), entries)
    going = desk.going_on(name, entries, overlays)
    broken = verify(entries)
    if broken is not None:
        changed = f"This log is not as it was written: {broken.what}. Tell the lead before you rely on it."
        going = replace(going, said=f"{changed} {going.said}".strip())
    if going.entry is None:
        return Opened(name, going.book, entries, going.said)
    if going.said:
        terminal.show(going.said)
    book = _changed(entries, going, terminal)
    entry = going.entry if book is going.book else going.unless
    if entry is not None:
        desk.books.keep(book)
        entries += desk.cases.append(name, len(entries), user(), [("knowledge", entry)])
    return Opened(name, book, entries)


def _what_is_new(going: GoingOn) -> list[str]:
    if not going.news or going.entry is None:
        return ["The knowledge has changed since this case was worked."]
    whose = going.entry["profile"]["aircraft"]
    return [f"The profile of {whose['name']}, version {whose['version']}, is new to this case:", *going.news]


def _changed(entries: list[CaseEntry], going: GoingOn, terminal: Terminal) -> Book:
    """Says what a changed book, or a profile that is new to it, makes of the case, and asks which to go on with."""
    assert going.entry is not None
    entry = CaseEntry(len(entries) + 1, "", "", "knowledge", going.entry)
    now = (going.book, add_up(going.book, [*entries, entry]))
    was = None if going.instead is None else (going.instead, add_up(going.instead, entries))
    terminal.show(*_what_is_new(going), "")
    terminal.show(*changed_lines(was, now), "")
    keys = ["y", "q"]
    kept = "leave the profile" if going.news else "keep the knowledge of then"
    terminal.show("y go on with it" + (f"   k {kept}" if was else "") + "   q quit, nothing is changed")
    if was is not None:
        keys.append("k")
    pressed = terminal.key("> ", keys)
    if pressed == "q":
        raise Left
    return going.book if pressed == "y" or going.instead is None else going.instead
