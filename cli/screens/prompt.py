"""A dialogue's prompt as it appears on the screen: plain words and boxes, legible without colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest

from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from faulttree.book.model import Book
from faulttree.clean import plain
from faulttree.dialogue import Choice, Prompt

from .board import SMALL, TIGHT, BoardScreen, next_step, size_for
from .pictures import MovedScreen, tree_lines

__all__ = [
    "Fitting",
    "Reminder",
    "caution_box",
    "choices",
    "key_line",
    "plain_lines",
    "plain_screen",
    "screen",
    "size_for",
    "tree_lines",
]

FIT_IN_ONE_COLUMN = 16
NARROWEST = 80
GAP = "   "

LEVEL_STYLES = {"WARNING": "bold white on red", "CAUTION": "bold black on yellow", "NOTE": "bold"}
"""Letters with a ground of their own, legible on a light window and on a dark one."""

REMINDED = 2


def caution_box(book: Book, caution: str) -> RenderableType:
    """One caution: its level in words at the left, a rule below, so that several fit a small window."""
    found = book.cautions[caution]
    style = LEVEL_STYLES[found.level]
    table = Table(box=None, show_header=False, padding=(0, 1, 0, 0), expand=True)
    table.add_column(width=len("WARNING"))
    table.add_column(ratio=1)
    table.add_row(Text(found.level, style=style), Text(found.text))
    return Group(table, Rule(style=style, characters="-"))


def screen(book: Book, prompt: Prompt, marked: int | None = None, size: int | None = None) -> list[RenderableType]:
    """All that a prompt shows above the line where it is answered; the choice in place ``marked`` has the arrow.

    ``size`` is how much the board shows, by the window's height if it is not given.
    """
    parts: list[RenderableType] = []
    if prompt.board is not None and prompt.topic != "why":
        parts += [BoardScreen(book, prompt.board, size), Text("")]
    parts += [caution_box(book, caution) for caution in prompt.cautions]
    if prompt.under:
        parts.append(Reminder(book, prompt.under))
    if prompt.topic == "next" and prompt.board is not None:
        parts.append(next_step(book, prompt.board, size is not None and size <= TIGHT))
        parts += [Padding(Text(plain(line)), (0, 2)) for line in prompt.lines]
        return [*parts, choices(prompt.choices, marked)]
    return [*parts, *plain_screen(prompt, marked)]


def plain_screen(prompt: Prompt, marked: int | None = None) -> list[RenderableType]:
    """A prompt without board and cautions: title, lines, picture, choices."""
    lines = plain_lines(prompt.lines)
    if prompt.moved:
        lines.append(MovedScreen(prompt.moved))
    return [Text(plain(prompt.title), style="bold"), *lines, choices(prompt.choices, marked)]


def plain_lines(lines: Sequence[str]) -> list[RenderableType]:
    """Lines below a title."""
    return [Padding(Text(plain(line)), (0, 2)) for line in lines]


class Reminder:
    """Cautions that were read and still hold, a line each, as many as a small window has room for."""

    def __init__(self, book: Book, cautions: Sequence[str]) -> None:
        self.told = [book.cautions[caution] for caution in cautions]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        most = REMINDED if console.height < SMALL else REMINDED + 2
        table = Table.grid(padding=(0, 1), expand=True)
        table.add_column(width=len("WARNING"))
        table.add_column(ratio=1, no_wrap=True, overflow="ellipsis")
        for one in self.told[:most]:
            table.add_row(Text(one.level, style=LEVEL_STYLES[one.level]), Text(one.text))
        left = len(self.told) - most
        table.add_row("", Text(f"and {left} more; ! shows all in full" if left > 0 else "! shows them in full"))
        yield table


OTHER_LINES = 10
"""Lines of a screen of choices that are not choices: head, title, lines, keys."""


class Fitting:
    """Choices in full where the window has room for them, else by what says them in short."""

    def __init__(self, given: Sequence[Choice], marked: int | None = None) -> None:
        self.given, self.marked = given, marked

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        full = choices([replace(choice, short="") for choice in self.given], self.marked)
        tall = len(console.render_lines(full, options, pad=False)) > console.height - OTHER_LINES
        yield choices([replace(c, label=c.short, short="") for c in self.given], self.marked) if tall else full


def choices(given: Sequence[Choice], marked: int | None = None) -> RenderableType:
    """Choices, one to a line, each behind its key; a long list in two columns, so that it fits on a small screen.

    The one in place ``marked`` has the arrow of the arrow keys.
    """
    if given and all(choice.short for choice in given):
        return Fitting(given, marked)
    if len(given) > FIT_IN_ONE_COLUMN and not any(choice.note for choice in given):
        return _in_two_columns(given)
    table = Table.grid(padding=(0, 1))
    for place, choice in enumerate(given):
        mark = ">" if place == marked else " "
        table.add_row(
            Text(f"{mark}{choice.key:>2}", style="bold"), Text(plain(choice.label)),
            Text(plain(choice.note), style="dim"), style="reverse" if place == marked else None,
        )  # fmt: skip
    return table


def _in_two_columns(given: Sequence[Choice]) -> RenderableType:
    """Down the left column first; what is too long for half of the screen goes on in its next line."""
    table = Table.grid(padding=(0, 1), expand=True)
    for _ in range(2):
        table.add_column(width=3, no_wrap=True)
        table.add_column(ratio=1)
    half = (len(given) + 1) // 2
    for left, right in zip_longest(given[:half], given[half:]):
        cells = [
            part
            for choice in (left, right)
            if choice is not None
            for part in (Text(f" {choice.key:>2}", style="bold"), Text(plain(choice.label)))
        ]
        table.add_row(*cells)
    return table


def key_line(commands: Sequence[Choice]) -> str:
    """The commands, on as few lines as they need; none is broken over two."""
    lines = [""]
    for choice in (*commands, Choice("q", "quit, keep all", ""), Choice("?", "help", "")):
        word = f"{choice.key} {choice.label}"
        if lines[-1] and len(lines[-1]) + len(GAP) + len(word) > NARROWEST:
            lines.append("")
        lines[-1] += (GAP if lines[-1] else "") + word
    return "\n".join(lines)
