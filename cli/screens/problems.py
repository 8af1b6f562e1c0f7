"""What is wrong in a knowledge file: the message, the line it stands on with a caret below, and what a rule says of
itself."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from rich.cells import get_character_cell_size

from faulttree.book.positions import Problem
from faulttree.book.texts import RuleText
from faulttree.clean import plain

WIDTH = 78
INDENT = "    "
MORE = "…"
TAB = 4
AHEAD = 20
"""Columns of a long line that are shown in front of the caret, at least."""

_BREAK = re.compile(r"\r\n|\r|\n")


def with_excerpt(problem: Problem) -> list[str]:
    """The message, then the line as it stands in the file and a caret under the column."""
    return [line_for_editors(problem), *(INDENT + line for line in _excerpt_of(problem))]


def line_for_editors(problem: Problem) -> str:
    """``file:line:column: severity: message [rule]``, which editors and CI take apart; a whole file counts as 1:1."""
    at = problem.position
    told = f"{at.file}:{at.line or 1}:{at.column or 1}: {problem.severity}: {problem.what}; {problem.right}"
    return plain(" ".join(f"{told} [{problem.rule}]".split()))


def _excerpt_of(problem: Problem) -> list[str]:
    at = problem.position
    lines = _lines(at.file) if at.line else ()
    return excerpt(lines[at.line - 1], at.column) if at.line <= len(lines) and lines else []


@lru_cache(maxsize=16)
def _lines(file: str) -> tuple[str, ...]:
    """The lines of a file, as the reader counts them; none where it cannot be read."""
    try:
        return tuple(_BREAK.split(Path(file).read_bytes().decode("utf-8-sig", "replace")))
    except OSError:
        return ()


def excerpt(line: str, column: int, width: int = WIDTH - len(INDENT)) -> list[str]:
    """A line and a caret under its ``column`` (from 1, in characters), cut to ``width`` columns of the screen.

    Tabs are drawn as spaces, signs that act are written out, and wide signs count as the two columns they take.
    """
    signs: list[str] = []
    for sign in line.rstrip():
        signs.append(" " * (TAB - _cells("".join(signs)) % TAB) if sign == "\t" else plain(sign))
    place = min(column - 1, len(signs))
    first = 0
    while first < place and _cells("".join(signs[first:place])) > max(AHEAD, width - AHEAD):
        first += 1
    before = (MORE if first else "") + "".join(signs[first:place])
    shown = before + "".join(signs[place:])
    return [_cut(shown, width), " " * _cells(before) + "^"]


def _cells(text: str) -> int:
    return sum(get_character_cell_size(sign) for sign in text)


def _cut(text: str, width: int) -> str:
    if _cells(text) <= width:
        return text
    while _cells(text) > width - 1:
        text = text[:-1]
    return text + MORE


def explained(text: RuleText) -> list[str]:
    """All that a rule says of itself, at eighty columns; its examples as they would stand in a file."""
    lines = [f"{text.id} ({text.severity})", ""]
    for paragraph in (text.wants, *text.why.split("\n\n")):
        lines += [*textwrap.wrap(paragraph, WIDTH, break_on_hyphens=False, break_long_words=False), ""]
    for title, example in (("wrong:", text.fails), ("right:", text.passes)):
        if example:
            lines += [title, *(INDENT + line for line in example.splitlines()), ""]
    return lines[:-1]


def counted(number: int, one: str, several: str) -> str:
    """A number of things in words."""
    return f"{number or 'no'} {one if number == 1 else several}"


def last_line(errors: int, advice: int, cases: str, families: Sequence[str]) -> str:
    """What a check comes to, for the end of a long list."""
    said = [counted(errors, "error", "errors"), counted(advice, "piece of advice", "pieces of advice")]
    return f"{', '.join(families)}: {', '.join(said)}; {cases}"
