"""What `faulttree work` does: a squawk worked from the pilot's words to a closed case, or taken up where it stopped."""

from __future__ import annotations

import argparse
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from textwrap import shorten

from rich.console import RenderableType

from faulttree.book.model import Book
from faulttree.case import CaseState, add_up, minutes_spent
from faulttree.case.course import history
from faulttree.chances import minutes_in_words
from faulttree.clean import plain
from faulttree.dialogue import Choice, Dialogue, NewEntry, Prompt
from faulttree.dialogue.steps import DROP, READ
from faulttree.squawk import learn
from faulttree.store import NotSaved, Overtaken

from . import opening, paging, settings
from .choosing import choose
from .desk import Desk, user
from .learner import QUIT, Learner
from .plain_terminal import open_terminal
from .screens import leaving, spoken
from .screens import prompt as screens
from .screens.board import BARE, TIGHT, legend
from .screens.help import HELP, HELP_ON, TAKEN
from .terminal import Meanwhile, Terminal

READ_KEYS = "r read and understood   x drop this step   q quit, keep all   ? help"
LEAF_KEYS = "y more   b back   q quit, keep all   ? help"
LATEST = 9
"""Entries of the course so far that fit a small window."""

NOT_TAKEN = "Your last answer was not taken. Look at the screen again and answer anew."

ENTER_ACCEPTS = ("next",)
"""Where Enter takes what is proposed. Elsewhere the thumb, which hits it by itself, must not answer; with the arrow
keys it chooses everywhere."""

HANDS_ON = ("set-up", "restore")
"""Screens that tell what to do with one's hands: like cautions they are not answered before they stand there."""

TAKING_UP = ("taken-up", "as-it-stands", "stands-now")

THOUGHT_OF = ("next", "question", "why", "outcome")
"""Screens beside which something is worked out."""

OTHER_LINES = 10
"""Lines of a screen of cautions that are not cautions: head, title, choices, keys."""


def run(given: argparse.Namespace, terminal: Terminal | None = None) -> int:
    """Works until the case ends or the user leaves."""
    if terminal is None:
        terminal = open_terminal(getattr(given, "plain", False))
    desk, shop = Desk(), settings.read()
    try:
        if terminal.plain and not given.case and not getattr(given, "cases_told", False):
            terminal.show(*spoken.unfinished(desk.unfinished()))
        if given.case:
            case = opening.take_up(desk, given.case, given.knowledge, terminal)
        else:
            case = opening.begin(desk, given, terminal, shop)
        learns = getattr(given, "learner", False)
        worker = _worker(desk, case, terminal, shop, learns)
        while not _work(worker, bool(given.case)):
            worker = _worker(desk, opening.begin(desk, given, terminal, shop), terminal, shop, learns)
        _say_how_to_go_on(worker)
    except opening.Left:
        terminal.show(f"Case {given.case} is as it was." if given.case else "Nothing was begun.")
    except (KeyboardInterrupt, EOFError):
        # Before there was a case at hand: nothing was begun, nothing is changed.
        terminal.show("", "Nothing was begun.")
    finally:
        desk.close()
    return 0


def _worker(desk: Desk, case: opening.Opened, terminal: Terminal, shop: settings.Settings, learns: bool) -> Worker:
    worker = Worker(desk, case, terminal, shop)
    worker.learner = Learner(case.book, terminal) if learns else None
    return worker


def _work(worker: Worker, taken_up: bool) -> bool:
    """False where the user wants back to the beginning, before anything was kept."""
    try:
        return worker.work(taken_up)
    except (KeyboardInterrupt, EOFError):
        worker.terminal.show("")
        return True


def _say_how_to_go_on(worker: Worker) -> None:
    if worker.begun is not None:
        worker.terminal.show("Nothing was begun.")
        return
    state = add_up(worker.book, worker.entries)
    worker.terminal.show(*leaving.lines(worker.name, state, worker.terminal.plain))


class Worker:
    """The loop of screen, key, entry."""

    def __init__(self, desk: Desk, case: opening.Opened, terminal: Terminal, shop: settings.Settings) -> None:
        self.desk, self.name, self.book, self.terminal = desk, case.name, case.book, terminal
        self.dialogue = Dialogue(case.book, shop.figures_for(case.book), shop.currency)
        self.entries, self.begun, self.taken = case.entries, case.begun, case.taken
        self.say = case.said
        self.unrefined = False
        self.learner: Learner | None = None
        self._read, self._heard = -1, spoken.NOTHING_HEARD

    def work(self, taken_up: bool = False) -> bool:
        """Until the case is closed, left open, or the user quits. One taken up begins with how the aircraft stands.

        False where nothing was answered yet and the user wants back to which aircraft it is.
        """
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
                return True
            if self.learner is not None and asked.board is not None and self.learner.wants(state):
                told = self.learner.ask(state, self.dialogue.believe(state).components)
                if told == QUIT:
                    return True
                self.say = told
            typed = "done" if self.dialogue.is_nothing_to_do(asked) else self._ask(state, asked)
            if typed is None:
                # The steps have been played to the end meanwhile: the same step, its figures refined.
                continue
            if typed == "quit":
                return True
            if typed == "back" and self.begun is not None:
                return False
            if typed == "help":
                if self._help(asked) == "q":
                    return True
                # What was asked on taking the case up is asked until it is answered.
                # What was looked at beside the main screen is looked at again.
                view = view if view in TAKING_UP or asked.board is None else ""
                continue
            reply = self.dialogue.accept(state, asked, typed)
            if reply.view == "leave":
                return True
            asked_before = view
            view, self.say = reply.view, reply.say
            if not self._append(reply.entries):
                view = asked_before if asked_before in TAKING_UP else ""

    def _ask(self, state: CaseState, asked: Prompt) -> str | None:
        """Shows a prompt and takes its answer; cautions page by page, so that none scrolls away unread."""
        if asked.trees and not self.terminal.plain:
            return self._leaf_through(state, asked)
        told_in = spoken.caution if self.terminal.plain else screens.caution_box
        pages = self.terminal.pages([told_in(self.book, c) for c in asked.cautions], OTHER_LINES)
        # Where the prompt asks more than whether they were read, the last page is read by itself too.
        answers_more = pages and not any(choice.key == READ.key for choice in asked.choices)
        for number, page in enumerate(pages if answers_more else pages[:-1], 1):
            told = f"{asked.title}. Page {number} of {len(pages)}." if len(pages) > 1 else asked.title
            droppable = any(choice.value == DROP.value for choice in asked.choices)
            keys = READ_KEYS if droppable else READ_KEYS.replace("   x drop this step", "")
            parts = [*self._head(state), *page, told, "", keys]
            if self.terminal.plain:
                parts = [*page, told, spoken.keys((READ, DROP) if droppable else (READ,))]
            pressed = self._paged(parts, [READ.key, *(DROP.key if droppable else ""), "q", "?"])
            if pressed != READ.key:
                return {"q": "quit", "?": "help"}.get(pressed or "", DROP.value)
        if answers_more:
            shown = replace(asked, cautions=(), under=asked.cautions)
        else:
            shown = replace(asked, cautions=asked.cautions[-len(pages[-1]) :]) if pages else asked
        for part in paging.in_parts(shown, self.terminal, partial(self._parts, state)):
            if part.topic != asked.topic:
                by_key = {choice.key: choice.value for choice in (*part.choices, *part.commands)}
                pressed = self._paged(self._parts(state, part), [*by_key, "q", "?"])
                if pressed != "y":
                    return ({"q": "quit", "?": "help"} | by_key).get(pressed or "", "back")
            else:
                shown = part
        return self._typed(state, shown)

    def _paged(self, parts: Sequence[RenderableType], keys: Sequence[str]) -> str | None:
        self.terminal.page(*parts)
        return self.terminal.key("> ", keys, redraw=partial(self.terminal.page, *parts))

    def _leaf_through(self, state: CaseState, asked: Prompt) -> str:
        """A long picture, a window full at a time."""
        lines = screens.tree_lines(asked.trees, self.terminal.console.encoding, self.terminal.width)
        pages = self.terminal.pages(lines, OTHER_LINES // 2)
        for number, page in enumerate(pages, 1):
            leaf = LEAF_KEYS if number < len(pages) else LEAF_KEYS.removeprefix("y more   ")
            parts = [*self._head(state), *page, "", f"{leaf}   (page {number} of {len(pages)})"]
            pressed = self._paged(parts, [*(["y"] if number < len(pages) else []), "b", "q", "?"])
            if pressed in ("q", "?"):
                return "quit" if pressed == "q" else "help"
            if pressed == "b":
                break
        return "back"

    def _head(self, state: CaseState) -> list[RenderableType]:
        job = state.opened.get("job", "")
        minutes = minutes_spent(state.entries)
        spent = f"{minutes_in_words(minutes)} so far" if minutes >= 1 else "just begun"
        what = plain(f"{self.name}  {job}  {state.squawk}".strip()).replace("\n", " ")
        room = self.terminal.width - len(spent) - 2
        return [f"{shorten(what, room, placeholder=' ...'):<{room}}  {spent}", ""]

    def _draw(self, state: CaseState, asked: Prompt, marked: int | None = None) -> None:
        self.terminal.page(*self._parts(state, asked, marked))
        self._heard = spoken.heard_after(asked, self._heard)

    def _parts(self, state: CaseState, asked: Prompt, marked: int | None = None) -> list[RenderableType]:
        """A whole screen."""
        said = [self.say, ""] if self.say else []
        # As long as nothing is kept, which aircraft it is can be put right.
        offered = ((paging.BACK,) if self.begun is not None else ()) if asked.text else asked.commands
        if self.terminal.plain:
            commands = spoken.keys(offered)
            return [*said[:1], *spoken.screen(self.book, asked, self._heard), commands]
        commands = screens.key_line(offered)
        head, tail = [*self._head(state), *said], ["", commands]
        # What is shown of the state of the job shrinks until the step, its cautions and its keys have their room.
        for size in range(screens.size_for(self.terminal.console.height), BARE - 1, -1):
            above = head if size > TIGHT else [part for part in head if part]
            parts = [*above, *screens.screen(self.book, asked, marked, size), *tail]
            if asked.board is None or self.terminal.fits(parts):
                break
        return parts

    def _typed(self, state: CaseState, asked: Prompt) -> str | None:
        refine = None if asked.topic not in THOUGHT_OF or self.unrefined else partial(self._refine, state, asked)
        if refine is not None and self.terminal.first(refine):
            if self._read != len(self.entries):  # nobody has been told of a step yet, so that none is swapped
                self.dialogue.thinking.show_better(state)
            return None
        if asked.board is not None:
            self._read = len(self.entries)
        if asked.text:
            line = self._line(state, asked)
            if line == paging.BACK.key and self.begun is not None:
                return "back"
            if line in ("?", "q"):
                return "help" if line == "?" else "quit"
            return line or (asked.default or "")
        self._draw(state, asked)
        by_key = {choice.key: choice.value for choice in (*asked.choices, *asked.commands)}
        by_key |= {"q": "quit", "?": "help"}
        enter = "y" if "y" in by_key and asked.topic in ENTER_ACCEPTS else None
        # Where cautions are read the thumb on Enter must not answer.
        listed = [] if asked.cautions else [choice.key for choice in asked.choices]
        pressed = choose(
            self.terminal, partial(self._draw, state, asked), listed, [key for key in by_key if key not in listed],
            enter, refine, read_first=bool(asked.cautions) or asked.topic in HANDS_ON,
        )  # fmt: skip
        return None if pressed is None else by_key[pressed]

    def _line(self, state: CaseState, asked: Prompt) -> str:
        """A line of words below its screen, or below the leaf of it that was turned to."""
        leaves = deque(paging.leaves(asked, self.terminal, partial(self._parts, state)))
        turns = [paging.MORE_KEY] if len(leaves) > 1 else []
        while True:
            self._draw(state, leaves[0])
            line = self.terminal.line(
                "> ", self._beside_words(state, asked), partial(self._draw, state, leaves[0]), turns
            ).strip()
            if line not in turns:
                return line
            leaves.rotate(-1)

    def _beside_words(self, state: CaseState, asked: Prompt) -> Meanwhile | None:
        """What is worked out while words are typed: what the book's phrases teach, or what the usual hours lead to."""
        if asked.topic == "squawk":
            return partial(_learn, self.book)
        return partial(self._refine, state, asked) if asked.topic == "hours" and not self.terminal.plain else None

    def _refine(self, state: CaseState, asked: Prompt, stop: Callable[[], bool]) -> bool:
        """Prepares what answers would lead to, then plays the next steps to the end.

        Should the program fail in it the quick choice stands, and work goes on.
        """
        try:
            # Where all is said in turn there is no time beside a prompt to prepare what comes after it.
            if self.terminal.plain:
                return self.dialogue.refine(state, stop)
            return self.dialogue.beside(state, asked, stop)
        except Exception as problem:
            self.unrefined = True
            self.say = f"The steps cannot be played to the end ({problem}); what is proposed is the quick choice."
            return True

    def _so_far(self, state: CaseState) -> Prompt:
        lines = history(self.book, self.entries, short=True)
        if len(lines) > LATEST:
            lines = [f"(the latest {LATEST} of {len(lines)}; the record has them all)", *lines[-LATEST:]]
        commands = (Choice("t", "take one of these back", "take-back"), paging.BACK)
        return Prompt("so-far", "So far, on the shop's clock", tuple(lines), commands=commands)

    def _append(self, entries: Sequence[NewEntry]) -> bool:
        """Writes entries; False where somebody else was first, or the disk did not take them, which is then said."""
        if not entries:
            return True
        try:
            new = [(entry.kind, entry.data) for entry in entries]
            if self.begun is not None:
                self.name, first = self.desk.cases.open(user(), self.begun)
                self.entries, self.begun = [first], None
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
                self.say = self.desk.keep_limit(str(self.entries[0].data.get("job", "")), entry.data)
        return True

    def _help(self, asked: Prompt) -> str | None:
        """On a screen of its own, so that a small window shows all of it. Returns the key that ended it."""
        self._heard = spoken.NOTHING_HEARD
        told = [HELP_ON[asked.topic], ""] if asked.topic in HELP_ON else []
        encoding = self.terminal.console.encoding
        if asked.topic == "squawk" and self.taken:
            told += [TAKEN, *(f"  {line}" for line in self.taken)]
        else:
            told += [HELP, "", f"where: {legend(encoding)}"] if asked.board is not None or asked.trees else [HELP]
        parts = [*told, "", "b back, or Enter   q quit, keep all"]
        self.terminal.page(*parts)
        return self.terminal.key("> ", ["b", "q", "?"], "b", redraw=partial(self.terminal.page, *parts))

    def _tell(self, *lines: str) -> None:
        """On a screen of its own: below it the next one may fill the window."""
        parts = [*lines, "", NOT_TAKEN, "", "y go on"]
        self.terminal.page(*parts)
        self.terminal.key("> ", ["y"], "y", redraw=partial(self.terminal.page, *parts))


def _learn(book: Book, stop: Callable[[], bool]) -> bool:
    """It is over in a moment and not given up."""
    learn(book)
    return False
