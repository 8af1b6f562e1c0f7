"""What `faulttree work` does: a squawk worked from the pilot's words to a closed case, or taken up where it stopped."""

from __future__ import annotations

import argparse
import getpass
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from faulttree.book.model import Book
from faulttree.case import CaseState, add_up
from faulttree.dialogue import Choice, Dialogue, NewEntry, Prompt
from faulttree.errors import FaulttreeError
from faulttree.store import Store

from . import places, settings
from .screens import prompt as screens
from .terminal import Terminal

_BACK = Choice("b", "back", "back")

PAGE_KEYS = "y read and understood, go on   q quit, keep all   ? help"
LATEST = 9
"""Entries of the course so far that fit a small window."""

REFINED = ("next", "question", "why")
"""Screens beside which the next steps are played to the end."""

SETTLE = 0.4
"""Seconds after a screen was replaced by a better one in which a key still means the old one and is not taken."""

OTHER_LINES = 10
"""Lines of a screen of cautions that are not cautions: head, title, choices, keys."""

HELP = """Number keys answer. y does what is proposed, Enter too if nothing is asked.
w why   o other steps   f I found it   p people and tools at hand
n not done   t can't tell   s think so, not sure   u undo the last answer
h what was done so far   x leave open with a reason   q quit, go on later
The step is there at once. It is played through beside it, and may be replaced.
Every answer is on the disk before the next screen appears."""


def run(given: argparse.Namespace, terminal: Terminal | None = None) -> int:
    """Works until the case ends or the user leaves."""
    if terminal is None:
        if not Terminal.is_there():
            raise FaulttreeError("work needs a terminal; use `faulttree rank` without one")
        terminal = Terminal()
    store = Store(places.case_folder())
    shop = settings.read()
    name, book = _open(given, store, terminal, shop)
    try:
        Worker(store, name, book, terminal, shop).work()
    except (KeyboardInterrupt, EOFError):
        terminal.show("")
    terminal.show(f"Case {name} is kept. Go on: faulttree work {name}    Record: faulttree record {name}")
    return 0


def _open(given: argparse.Namespace, store: Store, terminal: Terminal, shop: settings.Settings) -> tuple[str, Book]:
    if given.case:
        opened = next((e for e in store.read(given.case) if e.kind == "opened"), None)
        if opened is None:
            raise FaulttreeError(f"case {given.case} has no beginning")
        return given.case, places.load_as_opened(opened.data, given.knowledge)
    overlays = [*shop.overlays, *given.knowledge]
    book = places.load(given.family, given.fitted, overlays)
    terminal.show(*[screens.caution_box(book, caution) for caution in book.standing_cautions])
    if book.assumed:
        terminal.show("Taken as usual (--fitted changes it): " + ", ".join(book.assumed))
    job = terminal.line("Registration or job number: ").strip()
    name = store.new_name(datetime.now())
    data = {
        "family": book.family, "fitted": [f"{g}={o}" for g, o in book.fitted.items()], "job": job,
        "version": book.version, "digest": book.digest, "overlays": [str(Path(d).resolve()) for d in overlays],
    }  # fmt: skip
    store.append(name, 1, getpass.getuser(), "opened", data)
    return name, book


class Worker:
    """The loop of screen, key, entry."""

    def __init__(self, store: Store, name: str, book: Book, terminal: Terminal, shop: settings.Settings) -> None:
        self.store, self.name, self.book, self.terminal = store, name, book, terminal
        self.dialogue = Dialogue(book, shop.figures_for(book), shop.currency)
        self.entries = store.read(name)
        self.say = ""
        self.redrawn = self.unrefined = False

    def work(self) -> None:
        """Until the case is closed, left open, or the user quits."""
        view = ""
        while True:
            state = add_up(self.book, self.entries)
            asked = self.dialogue.prompt(state, view) if view != "so-far" else self._so_far(state)
            if asked is None:
                self.terminal.show("This case is closed." if state.closed else f"Left open: {state.left_open}")
                return
            typed = self._ask(state, asked)
            if typed is None:
                # The steps have been played to the end meanwhile: the same prompt, refined.
                self.redrawn = True
                continue
            self.redrawn = False
            if typed == "quit":
                return
            if typed == "help":
                view, self.say = "", HELP
                continue
            reply = self.dialogue.accept(state, asked, typed)
            self._append(reply.entries)
            view, self.say = reply.view, reply.say

    def _ask(self, state: CaseState, asked: Prompt) -> str | None:
        """Shows a prompt and takes its answer; cautions page by page, so that none scrolls away unread."""
        pages = self.terminal.pages([screens.caution_box(self.book, c) for c in asked.cautions], OTHER_LINES)
        for number, page in enumerate(pages[:-1], 1):
            self._show_head(state)
            self.terminal.show(*page, f"{asked.title}. Page {number} of {len(pages)}.", "", PAGE_KEYS)
            typed = self.terminal.key("> ", ["y", "q", "?"])
            if typed == "q":
                return "quit"
            if typed == "?":
                return "help"
        shown = replace(asked, cautions=asked.cautions[-len(pages[-1]) :]) if pages else asked
        self._show(state, shown)
        return self._typed(state, asked)

    def _show_head(self, state: CaseState) -> None:
        self.terminal.clear()
        head = f"{self.name}  {state.opened.get('job', '')}  {state.squawk}"
        self.terminal.show(head[: self.terminal.console.width], "")

    def _show(self, state: CaseState, asked: Prompt) -> None:
        self._show_head(state)
        if self.say:
            self.terminal.show(self.say, "")
        self.terminal.show(*screens.screen(self.book, asked))
        if not asked.text:
            self.terminal.show("", screens.key_line(asked.commands))

    def _typed(self, state: CaseState, asked: Prompt) -> str | None:
        if asked.text:
            line = self.terminal.line("> ").strip()
            if line in ("?", "q"):
                return "help" if line == "?" else "quit"
            return line or (asked.default or "")
        by_key = {choice.key: choice.value for choice in (*asked.choices, *asked.commands)}
        by_key |= {"q": "quit", "?": "help"}
        enter = "y" if "y" in by_key and not asked.cautions else None
        if asked.topic not in REFINED:
            pressed = self.terminal.key("> ", list(by_key), enter)
        else:
            refine = None if self.unrefined else partial(self._refine, state)
            settle = SETTLE if self.redrawn else 0.0
            pressed = self.terminal.key("> ", list(by_key), enter, refine, settle)
        return None if pressed is None else by_key[pressed]

    def _refine(self, state: CaseState, stop: Callable[[], bool]) -> bool:
        """Plays the next steps to the end. Should the program fail in it the quick choice stands, and work goes on."""
        try:
            return self.dialogue.refine(state, stop)
        except Exception as problem:
            self.unrefined = True
            self.say = f"The steps cannot be played to the end ({problem}); what is proposed is the quick choice."
            return True

    def _so_far(self, state: CaseState) -> Prompt:
        from faulttree.papers.record import history

        lines = history(self.book, self.entries, short=True)
        if len(lines) > LATEST:
            lines = [f"(the latest {LATEST} of {len(lines)}; the record has them all)", *lines[-LATEST:]]
        return Prompt("so-far", "So far (UTC)", tuple(lines), commands=(_BACK,))

    def _append(self, entries: tuple[NewEntry, ...]) -> None:
        for entry in entries:
            number = len(self.entries) + 1
            written = self.store.append(self.name, number, getpass.getuser(), entry.kind, entry.data)
            self.entries.append(written)
