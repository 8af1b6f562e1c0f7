"""What `faulttree drill` does: a drill from the pilot's words to the debrief, on a screen or line by line."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from textwrap import wrap

from rich.console import RenderableType

from faulttree.book.model import Action, Check, Component, Condition
from faulttree.chances import minutes_in_words
from faulttree.dialogue import Choice
from faulttree.drill import Act, Play, Stop, Told, menus
from faulttree.drill.menus import Item
from faulttree.drill.play import Quiz

from .screens import drill as drawn
from .screens import prompt as screens
from .screens import spoken
from .terminal import Terminal

OTHER_LINES = 6
"""Lines of a list that are not items: title, keys, line to answer on."""

READ = "r", "read and understood"
"""The key of cautions, which no other answer shares."""

MOST_TOLD = 2
"""Cautions that are held up to whoever was stopped, those that say most of it first."""

ALL_FOUND = "h all that was found   "
"""The key of the main screen that shows all findings."""

AT_ONCE = ("?",)
"""Keys that answer a list without an Enter; one out of habit behind the letter that opened the list takes nothing."""

UNREADY = {"f": "do these first", "b": "back", "i": "do it all the same"}
"""Keys where a step wants something before it."""

HELP = """You are the mechanic. The program is aircraft, pilot and helper.
p asks the pilot, l looks or tests, s sets up or puts back: you decide what has
to stand before a step. Before a risky step you say which cautions apply.
m marks a part as cleared; what you clear too early is told afterwards.
r names the cause, the repair and the checks due after it, and does it.
h shows all that was found, where the screen has room for the latest only.
d ends the drill once a proof was passed and everything is back; x gives up.
Minutes are the book's, not the clock's. q leaves; the drill goes on where it was.
The limits are invented for the drill. On the aircraft the maker's manual governs."""


class Left(Exception):
    """The learner went away; the drill goes on later."""


class Driller:
    """The loop of screen, key, act; ``keep`` is called once something was done."""

    def __init__(self, play: Play, terminal: Terminal, keep: Callable[[], None] | None = None) -> None:
        self.play, self.book, self.terminal = play, play.book, terminal
        self.say = ""
        self._keep, self._kept = keep, len(play.acts)

    def work(self) -> None:
        """Until the drill ends. Raises Left."""
        while not self.play.ended:
            if self._keep is not None and len(self.play.acts) != self._kept:
                self._kept = len(self.play.acts)
                self._keep()
            wanted = self._main()
            if wanted == "help" and not self._sure():
                continue
            if wanted in ("finish", "help", "restore-all"):
                self._do(Act(wanted))
            elif wanted == "repair":
                self._repair()
            else:
                self._choose(wanted)

    def _sure(self) -> bool:
        """Giving up ends a drill for good, so it is asked about."""
        minutes = minutes_in_words(self.book.defaults.help)
        parts = [f"Call in a specialist? That ends the drill and counts {minutes}."]
        return self._key(parts, (Choice("y", "yes, give it up", "y"), Choice("n", "no, go on", "n"))) == "y"

    # -- screens ---------------------------------------------------------------------------------------

    def _main(self) -> str:
        head, said = drawn.head(self.play), [self.say, ""] if self.say else []
        self.say = ""
        for most in range(drawn.FOUND_SHOWN, -1, -1):  # what the pilot said stays; older findings make room for it
            parts = [*said, *head, *drawn.findings(self.play, most), ""]
            if self.terminal.plain or self.terminal.fits([*parts, screens.choices(drawn.KEYS), "", ALL_FOUND]):
                break
        return self._key(parts, drawn.KEYS, ALL_FOUND)

    def _all_found(self) -> None:
        """Everything found so far, a page at a time."""
        lines = [self._cut(line) for line in drawn.every_finding(self.play)]
        room = max(self.terminal.console.height - OTHER_LINES, 8)
        for first in range(0, len(lines), room):
            self._read([f"Found so far, the latest first ({len(lines)}):", "", *lines[first : first + room]])

    def _key(self, parts: Sequence[RenderableType], choices: Sequence[Choice], all_found: str = "") -> str:
        """One of the choices by its key; ``all_found`` are the words of the key that shows it. Raises Left."""
        keys = f"q leave, keep all   {all_found}? help"
        if self.terminal.plain:
            told = "h: all that was found. " if all_found else ""
            shown: list[RenderableType] = [*parts, *spoken.choices(choices), f"Keys. q: leave. {told}?: help."]
        else:
            shown = [*parts, screens.choices(choices), "", keys]
        while True:
            self.terminal.page(*shown)
            redraw = partial(self.terminal.page, *shown)
            also = ["q", "?", *(["h"] if all_found else [])]
            pressed = self.terminal.key("> ", [*(c.key for c in choices), *also], redraw=redraw)
            if pressed == "q":
                raise Left
            if pressed == "h":
                self._all_found()
            elif pressed != "?":
                return next(c.value for c in choices if c.key == pressed)
            else:
                self._read([HELP])

    def _read(self, parts: Sequence[RenderableType], key: str = "y", words: str = "go on") -> None:
        """Something to read. Enter goes on too, but for cautions, which have a key of their own."""
        shown = [*parts, "", f"{key} {words}"]
        self.terminal.page(*shown)
        self.terminal.key("> ", [key], "y" if key == "y" else None, redraw=partial(self.terminal.page, *shown))

    def pick(self, title: str, items: Sequence[Item], every: Sequence[Item] = ()) -> Item | None:
        """One of the items: by number, or by words that are looked for in ``every`` too. None: back. Raises Left.

        An item keeps its number while the list is searched, and whatever was done since; what was done leaves a gap.
        """
        by_number = {str(item.number): item for item in (*every, *items)}
        shown, first = list(items), 0
        room = max(self.terminal.console.height - OTHER_LINES, 8)
        while True:
            page = shown[first : first + room]
            more = f"Enter: more ({first + len(page)} of {len(shown)}). " if first + room < len(shown) else ""
            lines = self._lines([f"{item.number:>3} {item.label}{_note(item)}" for item in page], room)
            keys = f"{more}Number, or words to look for. b back, q leave."
            typed = self._line([title, "", *lines, "", keys])
            if typed == "b" or (not typed and not more):
                return None
            if not typed:
                first += room
                continue
            if typed in by_number:
                return by_number[typed]
            found = _matching(typed, items, every)
            if found:
                shown, first = found, 0
            title = f"{title.partition('. Found')[0]}. Found for {typed!r}: {len(found)}, by number"

    def _lines(self, lines: Sequence[str], room: int) -> list[str]:
        """Lines of a list in full, those that are longer than the window under each other; cut where these are many."""
        if self.terminal.plain:
            return list(lines)
        whole = [part for line in lines for part in wrap(line, self.terminal.width, subsequent_indent=" " * 4)]
        return whole if len(whole) <= room else [*map(self._cut, lines)]

    def _cut(self, line: str) -> str:
        if self.terminal.plain or len(line) <= self.terminal.width:
            return line
        return line[: self.terminal.width - 3] + "..."

    def _line(self, parts: Sequence[RenderableType]) -> str:
        while True:
            self.terminal.page(*parts)
            typed = self.terminal.line("> ", redraw=partial(self.terminal.page, *parts), at_once=AT_ONCE).strip()
            if typed == "q":
                raise Left
            if typed != "?":
                return typed
            self._read([HELP])

    # -- acts ------------------------------------------------------------------------------------------

    def _choose(self, wanted: str) -> None:
        title, items, every = {
            "questions": ("What do you ask", menus.questions, ()),
            "looks": ("What do you look at or test", menus.looks, menus.every_look(self.play)),
            "conditions": ("What do you set up or put back", menus.conditions, ()),
            "parts": ("Which part do the findings clear", menus.parts, ()),
        }[wanted]
        chosen = self.pick(title, items(self.play), every)
        if chosen is not None and self._ready(chosen.act):
            self._do(chosen.act)

    def _ready(self, act: Act) -> bool:
        """Whether to go on with a step. What it wants first is shown before anything counts, and done if asked for."""
        stop, wanted = self.play.stop(act), self.play.wanting(act)
        if stop is None or stop.kind != "exposed" or not wanted:
            return True
        keys = tuple(Choice(key, words, key) for key, words in UNREADY.items())
        chosen = self._key([*drawn.wanted_first(self.play, act, wanted), ""], keys)
        return all(map(self._do, wanted)) if chosen == "f" else chosen == "i"

    def _repair(self) -> None:
        """Part, cause, repair and follow-ups, one after the other; back leaves it all."""
        part = self.pick("Which part is to blame", menus.blamed(self.play))
        cause = None if part is None else self.pick("What is wrong with it", menus.causes(self.play, part.act.cause))
        chosen = (
            None if cause is None else self.pick("What do you do about it", menus.repairs(self.play, cause.act.cause))
        )
        if chosen is None or cause is None or not self._ready(chosen.act):
            return
        if chosen.act.kind != "repair" or self.play.stop(chosen.act) is not None:
            self._do(chosen.act)
            return
        due = menus.follow_ups(self.play, chosen.act.id)
        planned = self._several("Which checks are due after it, the proof among them", [i.label for i in due])
        follow_up = tuple(due[place].act.id for place in planned)
        self._do(Act("repair", chosen.act.id, cause=cause.act.cause, follow_up=follow_up))

    def _several(self, title: str, labels: Sequence[str]) -> list[int]:
        """Places of those that are chosen by their numbers."""
        lines = [f"{number:>3} {label}" for number, label in enumerate(labels, 1)]
        said = ""
        while True:
            typed = self._line(
                [*([said] if said else []), title, "", *lines, "", "Numbers with blanks between, or Enter for none."]
            )
            words = typed.replace(",", " ").split()
            if all(word.isdecimal() and 1 <= int(word) <= len(labels) for word in words):
                return sorted({int(word) - 1 for word in words})
            said = f"{typed!r}: not among the numbers shown."

    def _do(self, act: Act) -> bool:
        """Does it, with what it asks for; whether it was done."""
        stop = self.play.stop(act)
        quiz = None if stop is not None else self.play.quiz(act)
        if quiz is not None and quiz.asked:
            act = self._with_claims(act, quiz)
        told = self.play.take(act)
        if told.stop is not None:
            self._stopped(act, told.stop)
        else:
            self._tell(told, quiz)
        return told.stop is None

    def _with_claims(self, act: Act, quiz: Quiz) -> Act:
        texts = [self.book.cautions[c].text.partition(". ")[0].rstrip(".") + "." for c in quiz.asked]
        claimed = self._several("Which of these apply to what you are about to do", texts)
        return Act(act.kind, act.id, tuple(quiz.asked[i] for i in claimed), act.cause, act.follow_up)

    def _stopped(self, act: Act, stop: Stop) -> None:
        title = "STOPPED as unsafe, and counted." if stop.danger else "Not now."
        title = "OUT OF ORDER, and counted apart: nobody could have been hurt." if stop.out_of_order else title
        if act.kind == "tempted":
            head = [title, "", f"What could have happened: {stop.reason}", "", "What speaks against it:"]
        else:
            head = [title, stop.reason, *(["", "What could have happened:"] if stop.cautions else [])]
        self._read_cautions(head, stop.cautions[:MOST_TOLD])

    def _tell(self, told: Told, quiz: Quiz | None) -> None:
        if quiz is not None:
            names = [self.book.cautions[c].text.partition(". ")[0] for c in told.missed]
            said = [f"Left out: {name}." for name in names]
            said = said or (["You named all that apply."] if quiz.asked else [])
            said += [f"Does not apply here: {self.book.cautions[c].text.partition('. ')[0]}." for c in told.wrong]
            self._read_cautions(["Before the step:", *said], quiz.new)
        how = menus.of_act(self.play, told.act)
        lines = [f"  {line}" for line in how]
        result = self._result(told)
        if not result and not lines:
            self.say = _brief(self.play, told)
            return
        self._read([_brief(self.play, told), *lines, *(["", *result] if result else [])])

    def _result(self, told: Told) -> list[str]:
        act = told.act
        if act.kind == "opening":
            question = next(q for q in self.book.opening if q.id == act.id)
            answer = next(a for a in question.answers if a.id == told.outcome)
            return [f"Pilot: {answer.label}.", *([answer.says] if answer.says else [])]
        if act.kind == "check":
            label = next(o.label for o in self.book.checks[act.id].outcomes if o.id == told.outcome)
            check = self.book.checks[act.id]
            if check.kind == "ask":
                return [f"You: {check.ask or check.name}", f"Pilot: {label}."]
            return [*self._judged(told), f"It shows: {label}."]
        if act.kind == "repair":
            return [
                "Done. The checks after it will show whether that was the cause.",
                *drawn.follow_ups(self.book, told),
            ]
        return []

    def _judged(self, told: Told) -> list[str]:
        """A value is first shown bare, and the learner says what it means."""
        if told.value is None:
            return []
        outcomes = self.book.checks[told.act.id].outcomes
        choices = [Choice(str(i), o.label, o.id) for i, o in enumerate(outcomes[:9], 1)]
        said = self._key([drawn.read_off(told.value), "What does that mean?", ""], choices)
        judged = self.play.take(Act("judge", told.act.id, cause=said))
        return [drawn.read_off(told.value), "You read it wrong." if judged.misjudged else "You read it right."]

    def _read_cautions(self, head: Sequence[str], cautions: Sequence[str]) -> None:
        """Cautions in full, page by page."""
        if self.terminal.plain:
            self._read([*head, *(spoken.caution(self.book, c) for c in cautions)], *READ)
            return
        boxes = [screens.caution_box(self.book, c) for c in cautions]
        pages = self.terminal.pages(boxes, OTHER_LINES + self.terminal.height_of(list(head)))
        for number, page in enumerate(pages or [[]], 1):
            of = f"Page {number} of {len(pages)}." if len(pages) > 1 else ""
            self._read([*head, "", *page, of], *(READ if boxes else ()))


def _note(item: Item) -> str:
    return f" ({item.note})" if item.note else ""


def _matching(words: str, items: Sequence[Item], every: Sequence[Item]) -> list[Item]:
    """Items in whose words all of these are found, those of the list first."""
    wanted = words.lower().split()
    seen: dict[Act, Item] = {}
    for item in (*items, *every):
        if all(word in item.label.lower() for word in wanted):
            seen.setdefault(item.act, item)
    return list(seen.values())


def _brief(play: Play, told: Told) -> str:
    """What was done, and how long it took."""
    act, book = told.act, play.book
    took = f" ({minutes_in_words(told.minutes)})" if told.minutes else ""
    if act.kind == "opening":
        return next(q.ask for q in book.opening if q.id == act.id)
    if act.kind == "restore-all":
        return f"Everything is put back{took}"
    if act.kind == "restore":
        return f"{book.conditions[act.id].put_back}{took}"
    names: Mapping[str, Mapping[str, Condition | Check | Action | Component]] = {
        "set-up": book.conditions, "check": book.checks, "repair": book.actions,
        "rule-out": book.components, "rule-in": book.components,
    }  # fmt: skip
    if act.kind not in names:
        return ""
    return f"{WORDS[act.kind]}{names[act.kind][act.id].name}{took}"


WORDS = {"set-up": "Set up: ", "check": "", "repair": "Repair: ",
         "rule-out": "Marked as cleared: ", "rule-in": "No longer cleared: "}  # fmt: skip
