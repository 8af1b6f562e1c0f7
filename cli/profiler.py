"""The dialogue of `faulttree aircraft`: screens and typed lines around :mod:`faulttree.dialogue.profile`."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TypeVar

from faulttree.book import families
from faulttree.book.model import Book
from faulttree.dialogue import Prompt
from faulttree.dialogue import profile as asking
from faulttree.errors import FaulttreeError
from faulttree.store.aircraft import Profile

from . import places
from .desk import Desk, user
from .screens import prompt as screens
from .terminal import Terminal

Found = TypeVar("Found")


def run(desk: Desk, name: str, known: Profile | None, overlays: Sequence[str], terminal: Terminal) -> int:
    """Asks for all of a profile, and keeps it as a new version if that is wished."""
    now = known or Profile(name.strip(), "")
    draft = asking.Draft(now.name, now.family, dict(now.fitted), now.voltage, dict(now.limits))
    try:
        draft = Profiler(terminal, overlays).enter(draft)
        terminal.show("", "y keep it   q leave all as it was")
        pressed = terminal.key("> ", ["y", "q"])
    except (KeyboardInterrupt, EOFError):
        pressed = "q"
    if pressed != "y":
        terminal.show("Nothing was kept.")
        return 0
    wanted = replace(now, family=draft.family, fitted=draft.fitted, voltage=draft.voltage, limits=draft.limits)
    if wanted == now:
        terminal.show("Nothing has changed.")
        return 0
    kept = desk.profiles.keep(wanted, user())
    terminal.show(
        f"Kept: {kept.name}, version {kept.version}. `faulttree work --aircraft {shlex.quote(kept.name)}` uses it."
    )
    return 0


class Profiler:
    """Asks one thing after another; what is wrong is said, and asked again."""

    def __init__(self, terminal: Terminal, overlays: Sequence[str]) -> None:
        self.terminal, self.overlays = terminal, overlays

    def enter(self, draft: asking.Draft) -> asking.Draft:
        """The draft with all answers. Raises KeyboardInterrupt and EOFError as typed."""
        draft = self._family(draft)
        book = places.load(draft.family, [], self.overlays)
        for group, members in asking.groups(book).items():
            asked = asking.ask_option(draft, group, members)
            chosen = self._asked(asked, partial(asking.choose, asked))
            if chosen is not None:
                draft = replace(draft, fitted={**draft.fitted, group: chosen})
        draft = self._asked(asking.ask_voltage(draft), partial(asking.with_voltage, draft))
        fitted = [f"{group}={option}" for group, option in draft.fitted.items()]
        return self._limits(draft, places.load(draft.family, fitted, self.overlays))

    def _family(self, draft: asking.Draft) -> asking.Draft:
        known = families([places.shipped_book(), *map(Path, self.overlays)])
        if len(known) == 1:
            return replace(draft, family=known[0])
        asked = asking.ask_family(draft, known)
        while True:
            chosen = self._asked(asked, partial(asking.choose, asked)) or draft.family
            if chosen:
                # Options of another kind of gear mean nothing.
                return draft if chosen == draft.family else replace(draft, family=chosen, fitted={}, limits={})

    def _limits(self, draft: asking.Draft, book: Book) -> asking.Draft:
        while True:
            asked = asking.ask_limit(draft, book)
            chosen = self._asked(asked, partial(asking.choose, asked))
            if chosen is None:
                return draft
            limit = book.limits[chosen]
            draft = self._asked(
                asking.ask_value(draft, limit),
                partial(asking.with_limit, draft, limit),
            )

    def _asked(self, asked: Prompt, take: Callable[[str], Found]) -> Found:
        said = ""
        while True:
            parts = [*([said, ""] if said else []), *screens.plain_screen(asked)]
            self.terminal.page(*parts)
            typed = self.terminal.line("> ", redraw=partial(self.terminal.page, *parts))
            if typed.strip() == "?":
                said = "A number chooses, Enter leaves it as it is, control-C leaves without keeping anything."
                continue
            try:
                return take(typed)
            except FaulttreeError as problem:
                said = f"{problem}. Nothing was taken."
