"""What `faulttree work` does: a squawk worked from the pilot's words to a closed case, or taken up where it stopped."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from faulttree.case import CaseState, add_up
from faulttree.clean import plain
from faulttree.dialogue import Choice, Dialogue, NewEntry, Prompt
from faulttree.errors import FaulttreeError
from faulttree.papers.course import history
from faulttree.squawk import learn
from faulttree.store import NotSaved, Overtaken

from . import opening, settings
from .desk import Desk, user
from .screens import prompt as screens
from .screens.board import legend
from .terminal import Terminal

_BACK = Choice("b", "back", "back")

PAGE_KEYS = "y read and understood, go on   q quit, keep all   ? help"
LATEST = 9
"""Entries of the course so far that fit a small window."""

NOT_TAKEN = "Your last answer was not taken. Look at the screen again and answer anew."

LOOKED_AT = ("taken-up", "as-it-stands", "confirm", "close")
"""Asked of what has to be looked at or thought of: Enter, which the thumb hits by itself, is no answer there."""

TAKING_UP = ("taken-up", "as-it-stands", "stands-now")

REFINED = ("next", "question", "why")
"""Screens beside which the next steps are played to the end."""

SETTLE = 0.4
"""Seconds after a screen was replaced by a better one in which a key still means the old one and is not taken."""

OTHER_LINES = 10
"""Lines of a screen of cautions that are not cautions: head, title, choices, keys."""

HELP = """Number keys answer. y does what is proposed, Enter too if nothing is asked.
w why   o other steps   f I found it   p people and tools at hand
n not done   t can't tell   s think so, not sure   m enter a reading
u undo the last answer   a add a note   h what was done so far
x leave open with a reason   q quit, go on later
The step is there at once. It is played through beside it, and may be replaced.
Every answer is on the disk before the next screen appears."""

HELP_ON = {
    "squawk": "Type what the pilot said or wrote, in any words. What is heard in it is asked back one by one.",
    "symptom": "This is what was heard in the pilot's words. y if the gear did that, n if it did not.",
    "more-symptoms": "Type the number of anything else that the gear did, or Enter to go on.",
    "opening": "Asked before anything is touched: it decides what has to be made safe first.",
    "circumstances": "What surrounds a squawk makes some causes likelier. Numbers with spaces between, or Enter.",
    "hours": "The longer since the gear was last known good, the likelier two faults at once.",
    "cautions": "Nothing is set up before these are read. y says that they are, x drops the step.",
    "set-up": "y once it is so. What is set up is put back at the end, one by one.",
    "restore": "y once it is put back as it says.",
    "outcome": "The number of what you saw. s before it if you only think so; t if it cannot be told, n if not done.",
    "others": "Any of these may be done instead; the best comes first.",
    "found": "Only what was seen with your own eyes. It counts as nearly certain.",
}
"""What is on the screen now, by topic."""


def run(given: argparse.Namespace, terminal: Terminal | None = None) -> int:
    """Works until the case ends or the user leaves."""
    if terminal is None:
        if not Terminal.is_there():
            raise FaulttreeError("work needs a terminal; use `faulttree rank` without one")
        terminal = Terminal()
    desk, shop = Desk(), settings.read()
    try:
        if given.case:
            case = opening.take_up(desk, given.case, given.knowledge, terminal)
        else:
            case = opening.begin(desk, given, terminal, shop)
        _work(Worker(desk, case, terminal, shop), bool(given.case))
        name = case.name
        terminal.show(
            f"Case {name} is kept.", f"  Go on:   faulttree work {name}", f"  Papers:  faulttree record {name}"
        )
    except opening.Left:
        terminal.show(f"Case {given.case} is as it was." if given.case else "Nothing was begun.")
    except (KeyboardInterrupt, EOFError):
        # Before there was a case at hand: nothing was begun, nothing is changed.
        terminal.show("", "Nothing was begun.")
    finally:
        desk.close()
    return 0


def _work(worker: Worker, taken_up: bool) -> None:
    try:
        worker.work(taken_up)
    except (KeyboardInterrupt, EOFError):
        worker.terminal.show("")


class Worker:
    """The loop of screen, key, entry."""

    def __init__(self, desk: Desk, case: opening.Opened, terminal: Terminal, shop: settings.Settings) -> None:
        self.desk, self.name, self.book, self.terminal = desk, case.name, case.book, terminal
        self.dialogue = Dialogue(case.book, shop.figures_for(case.book), shop.currency)
        self.entries = case.entries
        self.say = case.said
        self.redrawn = self.unrefined = False

    def work(self, taken_up: bool = False) -> None:
        """Until the case is closed, left open, or the user quits. One taken up begins with how the aircraft stands."""
        state = add_up(self.book, self.entries)
        view = ""
        if taken_up and not state.closed:
            view = "taken-up" if state.left_open is not None else "as-it-stands"
        while True:
            state = add_up(self.book, self.entries)
            asked = self.dialogue.prompt(state, view) if view != "so-far" else self._so_far(state)
            if asked is None:
                self.terminal.show(
                    "This case is closed." if state.closed else f"Left open: {plain(state.left_open or '')}"
                )
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
                if self._help(asked) == "q":
                    return
                # What was asked on taking the case up is asked until it is answered.
                view = view if view in TAKING_UP else ""
                continue
            reply = self.dialogue.accept(state, asked, typed)
            if reply.view == "leave":
                return
            asked_before = view
            view, self.say = reply.view, reply.say
            if not self._append(reply.entries):
                view = asked_before if asked_before in TAKING_UP else ""

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
        head = plain(f"{self.name}  {state.opened.get('job', '')}  {state.squawk}").replace("\n", " ")
        self.terminal.show(head[: self.terminal.console.width], "")

    def _show(self, state: CaseState, asked: Prompt) -> None:
        self._show_head(state)
        if self.say:
            self.terminal.show(self.say, "")
        self.terminal.show(*screens.screen(self.book, asked))
        self.terminal.show("", screens.key_line(() if asked.text else asked.commands))

    def _typed(self, state: CaseState, asked: Prompt) -> str | None:
        if asked.text:
            # What the book's phrases teach is learned while the pilot's words are typed.
            meanwhile = partial(learn, self.book) if asked.topic == "squawk" else None
            line = self.terminal.line("> ", meanwhile).strip()
            if line in ("?", "q"):
                return "help" if line == "?" else "quit"
            return line or (asked.default or "")
        by_key = {choice.key: choice.value for choice in (*asked.choices, *asked.commands)}
        by_key |= {"q": "quit", "?": "help"}
        enter = "y" if "y" in by_key and not asked.cautions and asked.topic not in LOOKED_AT else None
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
        lines = history(self.book, self.entries, short=True)
        if len(lines) > LATEST:
            lines = [f"(the latest {LATEST} of {len(lines)}; the record has them all)", *lines[-LATEST:]]
        return Prompt("so-far", "So far (UTC)", tuple(lines), commands=(_BACK,))

    def _append(self, entries: Sequence[NewEntry]) -> bool:
        """Writes entries; False where somebody else was first, or the disk did not take them, which is then said."""
        if not entries:
            return True
        try:
            new = [(entry.kind, entry.data) for entry in entries]
            self.entries += self.desk.cases.append(self.name, len(self.entries), user(), new)
        except Overtaken as news:
            self.entries += news.added
            lines = history(self.book, news.added, short=True)[-LATEST:]
            self._tell("Meanwhile somebody else went on with this case:", *lines)
            return False
        except NotSaved as problem:
            self._tell(str(problem))
            return False
        for entry in entries:
            if entry.kind == "limit" and entry.data["keep"]:
                self._keep_limit(entry)
        return True

    def _help(self, asked: Prompt) -> str | None:
        """On a screen of its own, so that a small window shows all of it. Returns the key that ended it."""
        self.terminal.clear()
        told = [HELP_ON[asked.topic], ""] if asked.topic in HELP_ON else []
        told += [HELP, "", legend(self.terminal.console.encoding)] if asked.board is not None else [HELP]
        self.terminal.show(*told, "", "y go on   q quit, keep all")
        return self.terminal.key("> ", ["y", "b", "q", "?"], "y")

    def _tell(self, *lines: str) -> None:
        """On a screen of its own: below it the next one may fill the window."""
        self.terminal.clear()
        self.terminal.show(*lines, "", NOT_TAKEN, "", "y go on")
        self.terminal.key("> ", ["y"], "y")

    def _keep_limit(self, entry: NewEntry) -> None:
        """Into the aircraft's profile, for the cases to come. That it cannot be kept there is no loss to this case."""
        try:
            self.say = self._kept_limit(entry)
        except FaulttreeError as problem:
            self.say = f"The limit is kept for this case, but not in the profile: {problem}"

    def _kept_limit(self, entry: NewEntry) -> str:
        job = str(self.entries[0].data.get("job", ""))
        profile = self.desk.profiles.find(job) if job else None
        if profile is None:
            return "The limit is kept for this case. There is no profile to keep it in: see `faulttree aircraft`."
        limit = {key: entry.data[key] for key in ("value", "unit", "reference")}
        limits = {**profile.limits, entry.data["limit"]: limit}
        kept = self.desk.profiles.keep(replace(profile, limits=limits), user())
        return f"Kept in the profile of {kept.name}, version {kept.version}."
