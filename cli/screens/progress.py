"""Progress of learners in letters: a bar for each learner, a line for each subsystem and level."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict

from faulttree.clean import plain
from faulttree.drill.progress import Row
from faulttree.papers import progress as paper

WHOSE = ("who", "family", "subsystem", "level")
"""Keys of a row that say whose drills they are; the others are figures."""

BAR, LONGEST = 24, 3.0
"""Columns of a bar, and the times the advisor's minutes for which it is full."""


def picture(totals: Sequence[Row], encoding: str) -> list[str]:
    """A bar for each learner: minutes as a ratio to the advisor's, whose mark stands at 1."""
    try:
        full, mark = "█│" if "█│".encode(encoding) else "#|"
    except UnicodeEncodeError:
        full, mark = "#", "|"
    lines = []
    for row in totals:
        length = min(round((row.against_best or 0.0) / LONGEST * BAR), BAR)
        bar = list(full * length + " " * (BAR - length))
        bar[round(BAR / LONGEST)] = mark
        lines += [f"{plain(row.who)[:14]:<14} {''.join(bar)}", f"{'':<14} {paper.pace(asdict(row))}"]
    return lines


HEADS = [words for key, words in paper.COLUMNS if key not in WHOSE]


def table(rows: Sequence[Row], names: Mapping[str, str]) -> list[str]:
    """Whose drills, where and at which level; below it the figures, under the names that the papers have too.

    A name of two words stands one above the other, so that all fit in 80 columns.
    """
    parts = [[head.rpartition(" ")[0], head.rpartition(" ")[2]] for head in HEADS]
    widths = [max(map(len, part)) for part in parts]
    lines = [", ".join(words for key, words in paper.COLUMNS if key in WHOSE)]
    lines += [_in_line([part[row] for part in parts], widths) for row in (0, 1)]
    for r in rows:
        data = asdict(r)
        figures = [paper.in_words(data[key]) for key, _ in paper.COLUMNS if key not in WHOSE]
        where = names.get(r.subsystem, r.subsystem)
        lines += ["", f"{plain(r.who)}, {r.family}, {where}, level {r.level}", _in_line(figures, widths)]
    return [*lines, "", paper.MEANING]


def _in_line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return " ".join(f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()
