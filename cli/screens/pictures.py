"""Pictures in letters: how the last answer moved the ranking, and the fault tree of what was reported."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.table import Table
from rich.text import Text

from faulttree.chances import in_words
from faulttree.dialogue import Branch, Moved

from .board import legend, marks_for

BAR = 20
"""Columns of a bar that stands for certainty."""

OTHER_LINES, LEAST_MOVED = 12, 4
"""Lines of the screen with the bars that are not bars, and the causes that are shown in the smallest window."""

TOLD_LEAST = 0.02
"""A cause of a fault tree that is less likely than this has no figure beside its mark."""

GUIDES = ("├─ ", "└─ ", "│  ", "   ")
PLAIN_GUIDES = ("+- ", "+- ", "|  ", "   ")
"""Before a branch, the last branch, what lies below a branch, what lies below the last one."""


class MovedScreen:
    """Causes with a bar for before and one for after, and both in words."""

    def __init__(self, moved: Sequence[Moved]) -> None:
        self.moved = moved

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        full = "█" if _can_show("█", console.encoding) else "#"
        table = Table.grid(padding=(0, 1), expand=True)
        table.add_column(ratio=1, no_wrap=True, overflow="ellipsis")
        table.add_column(width=BAR, no_wrap=True)
        table.add_column(width=len("about 19 in 20"), no_wrap=True)
        for one in self.moved[: max((console.height - OTHER_LINES) // 2, LEAST_MOVED)]:
            table.add_row(Text(one.name), Text(bar(one.was, full), style="dim"), Text(in_words(one.was), style="dim"))
            table.add_row(Text(_turn(one)), Text(bar(one.now, full)), Text(in_words(one.now)))
        yield table
        yield Text("The upper bar of a cause is before it, the lower one after it.", style="dim")


def _turn(one: Moved) -> str:
    if one.now > one.was * 1.1 + 0.001:
        return "   likelier"
    return "   less likely" if one.now < one.was * 0.9 - 0.001 else "   as before"


def bar(share: float, full: str) -> str:
    """A bar, never empty where there is anything at all."""
    return full * max(round(share * BAR), 1 if share > 0 else 0)


def tree_lines(trees: Sequence[Branch], encoding: str, width: int) -> list[RenderableType]:
    """Fault trees as lines, each no wider than ``width``."""
    guides = GUIDES if _can_show("".join(GUIDES), encoding) else PLAIN_GUIDES
    lines: list[RenderableType] = []
    for tree in trees:
        lines.append(Text(_cut(f"{tree.name}: {tree.gate}", width), style="bold"))
        lines += [_cut_text(line, width) for line in _below(tree, "", guides, marks_for(encoding))]
        lines.append(Text(""))
    return [*lines, Text(legend(encoding), style="dim")]


def _below(tree: Branch, lead: str, guides: tuple[str, str, str, str], marks: dict[str, str]) -> Iterator[Text]:
    last = len(tree.below) - (0 if tree.quiet else 1)
    for place, branch in enumerate(tree.below):
        line = Text(lead + guides[place == last])
        line.append(marks[branch.stands], style="bold" if branch.stands in ("strong", "found") else "")
        if branch.next:
            line.append(" next ->", style="bold")
        if branch.share >= TOLD_LEAST and not branch.gate:
            line.append(f" {in_words(branch.share)}:")
        line.append(f" {branch.name}" + (f": {branch.gate}" if branch.gate else ""))
        yield line
        yield from _below(branch, lead + guides[3 if place == last else 2], guides, marks)
    if tree.quiet:
        yield Text(lead + guides[1] + f"{tree.quiet} more, hardly suspect")


def _cut_text(line: Text, width: int) -> Text:
    line.truncate(width, overflow="ellipsis")
    return line


def _cut(words: str, width: int) -> str:
    return words if len(words) <= width else words[: width - 4] + " ..."


def _can_show(signs: str, encoding: str) -> bool:
    try:
        signs.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True
