"""A prompt for which the window has no room, in parts that it has room for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import accumulate

from rich.console import RenderableType

from faulttree.dialogue import Choice, Prompt

from .screens import prompt as screens
from .terminal import Terminal

UNDIVIDED = 9
"""Choices up to which a list stays in one piece."""

MORE_KEY, LEAF = "m", "{} shows the rest of the list; the numbers of all of it are taken."

ON, BACK = Choice("y", "read on", "y"), Choice("b", "back", "back")

Parts = Callable[[Prompt], list[RenderableType]]
"""What the whole screen of a prompt is drawn from."""


def in_parts(asked: Prompt, terminal: Terminal, parts: Parts) -> list[Prompt]:
    """A prompt, with screens before it for those of its lines for which the window has no room."""
    seen_beside = asked.board is not None and asked.topic != "why"
    if seen_beside or asked.text or terminal.fits(parts(asked)):
        return [asked]
    if asked.topic == "others" and asked.choices:
        return _list_in_parts(asked, terminal, parts)
    more = replace(asked, topic=f"{asked.topic} more", board=None, choices=(ON,), commands=(BACK,))
    room = [terminal.room_beside(parts(replace(each, lines=()))) for each in (more, asked)]
    heights = [terminal.height_of(screens.plain_lines([line])) for line in asked.lines]
    before, first = [], 0
    while sum(heights[first:]) > max(room[1], 0) and first < len(heights):
        end = first + 1
        while end < len(heights) and sum(heights[first : end + 1]) <= room[0]:
            end += 1
        before.append(replace(more, lines=asked.lines[first:end]))
        first = end
    return [*before, replace(asked, lines=asked.lines[first:])]


def _list_in_parts(asked: Prompt, terminal: Terminal, parts: Parts) -> list[Prompt]:
    """A list for which the window has no room, what tells of it above its beginning: on each screen its own keys."""
    more = replace(asked, topic=f"{asked.topic} more")
    found: list[Prompt] = []
    left = list(asked.choices)
    while left:
        lines = () if found else asked.lines
        if found and terminal.fits(parts(replace(asked, lines=lines, choices=tuple(left)))):
            break
        end = 1
        while end < len(left) and terminal.fits(parts(replace(more, lines=lines, choices=(*left[: end + 1], ON)))):
            end += 1
        found.append(replace(more, lines=lines, choices=(*left[:end], ON)))
        left = left[end:]
    last = tuple(left) or found.pop().choices[:-1]
    return [*found, replace(asked, lines=() if found else asked.lines, choices=last)]


def leaves(asked: Prompt, terminal: Terminal, parts: Parts) -> list[Prompt]:
    """A list with the line for its numbers, in as many parts as the window wants; any number is taken at each."""
    if len(asked.choices) <= UNDIVIDED or not asked.text or terminal.fits(parts(asked)):
        return [asked]
    turns = replace(asked, lines=(*asked.lines, LEAF.format(MORE_KEY)))
    room = max(terminal.room_beside(parts(replace(turns, choices=()))), 1)
    pages = terminal.pages([screens.choices([c]) for c in asked.choices], terminal.console.height - room)
    ends: Sequence[int] = list(accumulate(len(page) for page in pages))
    return [replace(turns, choices=asked.choices[i:j]) for i, j in zip([0, *ends], ends, strict=False)]
