"""A dialogue's prompt as it appears on the screen: plain words and boxes, legible without colour."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from textwrap import shorten

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from faulttree.book.model import Book
from faulttree.clean import plain
from faulttree.dialogue import Board, Choice, Prompt

CAUSES_ON_SCREEN = 5
FIT_IN_ONE_COLUMN = 16
EQUIPMENT_WIDTH = 120
"""Of a long list of equipment the main screen shows the beginning; all of it stands under why."""
BAR = 8
NARROWEST = 80
GAP = "   "
SLEEPS = "comes+goes"

LEVEL_STYLES = {"WARNING": "bold red", "CAUTION": "bold yellow", "NOTE": "bold"}


def caution_box(book: Book, caution: str) -> RenderableType:
    """One caution: its level in words at the left, a rule below, so that several fit a small window."""
    found = book.cautions[caution]
    style = LEVEL_STYLES[found.level]
    table = Table(box=None, show_header=False, padding=(0, 1, 0, 0), expand=True)
    table.add_column(width=len("WARNING"))
    table.add_column(ratio=1)
    table.add_row(Text(found.level, style=style), Text(found.text))
    return Group(table, Rule(style=style, characters="-"))


def board(book: Book, shown: Board) -> RenderableType:
    """Ranked causes, what stands, and the next step."""
    table = Table.grid(padding=(0, 1), expand=True)
    table.add_column(width=5)
    table.add_column(width=BAR)
    table.add_column(ratio=1, no_wrap=True, overflow="ellipsis")
    table.add_column(width=len(SLEEPS), no_wrap=True)
    for cause in shown.causes[:CAUSES_ON_SCREEN]:
        note = SLEEPS if cause.comes_and_goes > cause.probability / 2 else ""
        table.add_row(f"{cause.probability * 100:3.0f} %", _bar(cause.probability), cause.name, Text(note, style="dim"))
    table.add_row(f"{shown.unlisted * 100:3.0f} %", _bar(shown.unlisted), "something this book does not list", "")
    parts: list[RenderableType] = [Text("LIKELY CAUSES", style="bold"), table]
    parts += [Text(f"! {warning}", style="bold") for warning in shown.warnings]
    if shown.standing:
        parts.append(Text("Stands now: " + ", ".join(shown.standing)))
    if shown.to_go is None:
        parts.append(Text("To go: working it out"))
    else:
        parts.append(Text(f"To go: about {shown.to_go.p50:.0f} min, 80 in 100 under {shown.to_go.p80:.0f} min"))
        if shown.to_go.money is not None:
            parts.append(Text(f"Labour and parts: about {shown.to_go.money:.0f} {shown.currency}".rstrip()))
    return Group(*parts)


def next_step(book: Book, shown: Board) -> RenderableType:
    """The next step: what, how long, what is put back and set up for it, why."""
    step = shown.suggestion
    if step is None:
        return Text("")
    kind = {"ask": "ASK", "check": "CHECK", "act": "REPAIR", "help": "HELP"}[step.kind]
    lines = [Text.assemble((f"NEXT - {kind}: ", "bold"), step.name)]
    facts = [f"{step.minutes_now:.0f} min"]
    if step.people > 1:
        facts.append(f"{step.people} people")
    if step.equipment:
        facts.append(shorten(", ".join(book.equipment[e] for e in step.equipment), EQUIPMENT_WIDTH, placeholder=" ..."))
    lines.append(Text("; ".join(facts)))
    for label, conditions in (("Puts back", step.to_restore), ("Sets up", step.to_set_up)):
        if conditions:
            lines.append(Text(f"{label}: " + ", ".join(book.conditions[c].name for c in conditions)))
    if step.money_now is not None:
        lines.append(Text(f"This step: {step.money_now:.0f} {shown.currency}".rstrip()))
    lines += _fetch(book, shown)
    if step.saves_minutes >= 1:
        lines.append(Text(f"Saves about {step.saves_minutes:.0f} min against the next best way (w says why)"))
    return Group(*lines)


def _fetch(book: Book, shown: Board) -> list[Text]:
    """What the steps after this one are likely to want too, so that one walk fetches it all."""
    step, fetch = shown.suggestion, shown.fetch
    if step is None or fetch is None or step.kind == "help":
        return []
    more = [book.equipment[e] for e in fetch.equipment if e not in step.equipment]
    if fetch.people > step.people:
        more.append(f"{fetch.people} people")
    return [Text(shorten("Soon wanted too: " + ", ".join(more), EQUIPMENT_WIDTH, placeholder=" ..."))] if more else []


def screen(book: Book, prompt: Prompt) -> list[RenderableType]:
    """All that a prompt shows above the line where it is answered."""
    parts: list[RenderableType] = []
    if prompt.board is not None and prompt.topic != "why":
        parts += [board(book, prompt.board), Text("")]
    parts += [caution_box(book, caution) for caution in prompt.cautions]
    if prompt.topic == "next" and prompt.board is not None:
        parts.append(next_step(book, prompt.board))
        parts += [Padding(Text(plain(line)), (0, 2)) for line in prompt.lines]
        return [*parts, choices(prompt.choices)]
    return [*parts, *plain_screen(prompt)]


def plain_screen(prompt: Prompt) -> list[RenderableType]:
    """A prompt without board and cautions: title, lines, choices."""
    lines = [Padding(Text(plain(line)), (0, 2)) for line in prompt.lines]
    return [Text(plain(prompt.title), style="bold"), *lines, choices(prompt.choices)]


def choices(given: Sequence[Choice]) -> RenderableType:
    """Choices, one to a line, each behind its key; a long list in two columns, so that it fits on a small screen."""
    if len(given) > FIT_IN_ONE_COLUMN and not any(choice.note for choice in given):
        return _in_two_columns(given)
    table = Table.grid(padding=(0, 1))
    for choice in given:
        table.add_row(
            Text(f" {choice.key:>2}", style="bold"), Text(plain(choice.label)), Text(plain(choice.note), style="dim")
        )
    return table


def _in_two_columns(given: Sequence[Choice]) -> RenderableType:
    """Down the left column first; what is too long for half of the screen ends in dots."""
    table = Table.grid(padding=(0, 1), expand=True)
    for _ in range(2):
        table.add_column(width=3, no_wrap=True)
        table.add_column(ratio=1, no_wrap=True, overflow="ellipsis")
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


def _bar(share: float) -> str:
    full = round(share * BAR)
    return "#" * full + "." * (BAR - full)
