"""The main screen: how the aircraft stands, where the fault may lie, what is known and likely, what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import shorten

from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.table import Table
from rich.text import Text

from faulttree.book.model import Book
from faulttree.chances import about, in_words, minutes_in_words
from faulttree.clean import plain
from faulttree.conditions import put_back_words
from faulttree.dialogue import Board
from faulttree.dialogue.where import Strip

LEFT = 8
"""Columns of the words at the left that say what a part of the screen is."""

SMALL, LARGE = 26, 36
"""Lines of a window below which the least is shown, and from which all is."""

CAUSES, STRIPS, KNOWN = (3, 5, 8, 1, 2, 3), (1, 2, 3, 0, 1, 1), (1, 2, 4, 0, 1, 1)
"""How many are shown in a small window, a middling and a large one; then where what stands would scroll off, where a
small one is full of the step, and where it has one line for each name."""

SHORT, TIGHT, BARE = -1, -2, -3
"""Sizes of a board in a small window: long names on one line each; all room left to the step; hardly more than what
stands, which nobody may miss."""

MARKS = {"proved": "═══", "open": "───", "little": "░░░", "suspect": "▒▒▒", "strong": "▓▓▓", "found": "███"}
PLAIN_MARKS = {"proved": "===", "open": "---", "little": "-?-", "suspect": "?-?", "strong": "???", "found": "!!!"}
STYLES = {"proved": "dim", "open": "", "little": "", "suspect": "bold", "strong": "bold", "found": "bold reverse"}

KINDS = {"ask": "ask", "check": "check", "act": "repair", "help": "help"}
EQUIPMENT_WIDTH = 120
"""Of a long list of equipment the main screen shows the beginning; all of it stands under why."""

SLEEPS = ", comes and goes"
GAP, FEWEST_WORDS = "...", 3
"""What stands for the middle of a name, and the words of it that are kept at least."""

LEGEND = (
    "{proved} ruled out  {open} hardly suspect  {little} a little  {suspect} suspect  {strong} strongly"
    "  {found} found bad"
)
"""The darker the likelier; a double line was ruled out by what was found since, not by what somebody remembers."""


def marks_for(encoding: str) -> dict[str, str]:
    """Shaded marks where the terminal can show them, else signs that every terminal has."""
    try:
        "".join(MARKS.values()).encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return PLAIN_MARKS
    return MARKS


def size_for(height: int) -> int:
    """How much a window of so many lines shows: 0 the least, 2 all."""
    return 0 if height < SMALL else 1 if height < LARGE else 2


class BoardScreen:
    """The board, as much of it as the window has room for."""

    def __init__(self, book: Book, shown: Board, size: int | None = None) -> None:
        self.book, self.shown, self.size = book, shown, size

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        size = size_for(console.height) if self.size is None else self.size
        room = options.max_width - LEFT
        table = Table.grid(padding=0, expand=True)
        table.add_column(width=LEFT, no_wrap=True)
        table.add_column(ratio=1)
        for label, part in self._parts(size, room, console.encoding):
            table.add_row(Text(label, style="bold"), part)
        yield table

    def _parts(self, size: int, room: int, encoding: str) -> Iterator[tuple[str, RenderableType]]:
        shown, marks = self.shown, marks_for(encoding)
        yield "stands", Text(", ".join(shown.standing) or "as it came in, nothing set up")
        yield "to go", Text(to_go_in_words(shown))
        lines: list[Text] = []
        for strip in shown.where[: STRIPS[size]]:
            # In a small window the places alone must say which chain it is.
            lines += [Text(strip.name, style="italic")] if size > 0 else []
            lines += strip_lines(strip, room, marks)
        if lines:
            lines += [Text(legend(encoding), style="dim")] if size > 0 else []
            yield "where", Group(*lines)
        if shown.known[: KNOWN[size]]:
            told = [shorten(plain(one), room, placeholder=" ...") for one in shown.known[: KNOWN[size]]]
            yield "known", Text("\n".join(told))
        yield "likely", self._causes(CAUSES[size], room, size < 0)
        for warning in shown.warnings:
            yield "note", Text(warning, style="bold")

    def _causes(self, most: int, room: int, small: bool) -> Table:
        causes = self.shown.causes[:most]
        chances = [in_words(cause.probability) for cause in causes]
        names = [f"{c.name}{SLEEPS if c.comes_and_goes > c.probability / 2 else ''}" for c in causes]
        beside = max(map(len, [*chances, in_words(self.shown.unlisted)]))
        if small:
            names = in_one_line(names, room - beside - 1)
        table = Table.grid(padding=(0, 1), expand=True)
        table.add_column(ratio=1)
        table.add_column(width=beside, no_wrap=True)
        for name, chance in zip(names, chances, strict=True):
            table.add_row(name, chance)
        table.add_row("something this book does not list", in_words(self.shown.unlisted))
        if most > CAUSES[0] and sum(cause.probability for cause in self.shown.causes) > 1.0:
            table.add_row(Text("together more than ten in 10: two may be there at once", style="dim"), "")
        return table


def in_one_line(names: Sequence[str], room: int) -> list[str]:
    """Names with the middle of their mode left out where they are too long; the part with its leg is kept.

    Those that would read the same then stay as they are, and go over two lines.
    """
    short = [_without_its_middle(name, room) for name in names]
    return [one if short.count(one) == 1 else name for one, name in zip(short, names, strict=True)]


def _without_its_middle(name: str, room: int) -> str:
    part, colon, mode = name.removesuffix(SLEEPS).partition(": ")
    sleeps = SLEEPS if name.endswith(SLEEPS) else ""
    words = mode.split()
    if len(name) <= room or not colon:
        return name
    while len(words) > FEWEST_WORDS:
        del words[len(words) // 2]
        first = (len(words) + 1) // 2
        short = f"{part}: {' '.join([*words[:first], GAP, *words[first:]])}{sleeps}"
        if len(short) <= room:
            return short
    return name


def to_go_in_words(shown: Board) -> str:
    """The time to the end of the job, and the money where the shop has a rate."""
    if shown.to_go is None:
        return "being worked out"
    words = f"{about(shown.to_go.p50)}; 8 times in 10 under {minutes_in_words(max(shown.to_go.p80, 1))}"
    if shown.to_go.money is not None:
        words += f"; about {shown.to_go.money:.0f} {shown.currency}".rstrip()
    return words


def strip_lines(strip: Strip, room: int, marks: dict[str, str]) -> list[Text]:
    """A chain over as many lines as it needs; under the tap that the next step looks at an arrow says so."""
    lines, line, arrow = [], Text(), ""
    for stretch in strip.stretches:
        words = f" {stretch.tap} "
        if line.cell_len and line.cell_len + 3 + len(words) > room:
            lines += _with_arrow(line, arrow)
            line, arrow = Text(), ""
        line.append(marks[stretch.stands], style=STYLES[stretch.stands])
        if stretch.next:
            arrow = " " * (line.cell_len + 1) + "^ next"
        line.append(words, style="bold" if stretch.next else "")
    return [*lines, *_with_arrow(line, arrow)]


def _with_arrow(line: Text, arrow: str) -> list[Text]:
    return [line, Text(arrow)] if arrow else [line]


def legend(encoding: str) -> str:
    """What the marks of the strips mean."""
    return LEGEND.format(**marks_for(encoding))


def next_step(book: Book, shown: Board, tight: bool = False) -> RenderableType:
    """The next step: what, how long, what is put back and set up for it, why; ``tight``: without what is under w."""
    step = shown.suggestion
    if step is None:
        return Text("")
    facts = [minutes_in_words(step.minutes_now)]
    if step.people > 1:
        facts.append(f"{step.people} people")
    if step.equipment:
        width = EQUIPMENT_WIDTH // 2 if tight else EQUIPMENT_WIDTH
        facts.append(shorten(", ".join(book.equipment[e] for e in step.equipment), width, placeholder=" ..."))
    lines = [Text.assemble((f"{KINDS[step.kind]}: ", "bold"), (step.name, "bold")), Text("; ".join(facts))]
    back = put_back_words(book.conditions, step.to_restore)
    if back:
        lines.append(Text(f"First: {back}"))
    if step.to_set_up:
        lines.append(Text("Set up: " + ", ".join(book.conditions[c].name for c in step.to_set_up)))
    if step.money_now is not None:
        lines.append(Text(f"This step: {step.money_now:.0f} {shown.currency}".rstrip()))
    lines += [Text(shown.waits)] if shown.waits else []
    lines += [] if tight else _soon(book, shown)
    if step.saves_minutes >= 1 and not tight:
        lines.append(Text(f"Saves about {minutes_in_words(step.saves_minutes)} against the next best way (w says why)"))
    table = Table.grid(padding=0, expand=True)
    table.add_column(width=LEFT)
    table.add_column(ratio=1)
    table.add_row(Text("next", style="bold"), Group(*lines))
    return table


def _soon(book: Book, shown: Board) -> list[Text]:
    """What the steps after this one are likely to want too, so that one walk fetches it all."""
    step, fetch = shown.suggestion, shown.fetch
    if step is None or fetch is None or step.kind == "help":
        return []
    more = [book.equipment[e] for e in fetch.equipment if e not in step.equipment]
    if fetch.people > step.people:
        more.append(f"{fetch.people} people")
    return [Text(shorten("Soon wanted too: " + ", ".join(more), EQUIPMENT_WIDTH, placeholder=" ..."))] if more else []
