"""Progress of learners in letters: a bar for each learner, a line for each subsystem and level."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from faulttree.clean import plain
from faulttree.drill.progress import Row

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
        length = min(round(row.against_best / LONGEST * BAR), BAR)
        bar = list(full * length + " " * (BAR - length))
        bar[round(BAR / LONGEST)] = mark
        lines.append(
            f"{plain(row.who)[:14]:<14} {''.join(bar)} {row.against_best:.2f} times the advisor, {row.drills} drills"
        )
    return lines


def table(rows: Sequence[Row], names: Mapping[str, str]) -> list[str]:
    """A line for each subsystem and level of each learner."""
    head = f"{'learner':<12} {'subsystem':<26} lv  n  ok  min/best  unsafe  caut  parts  misr"
    lines = [head]
    for r in rows:
        name = names.get(r.subsystem, r.subsystem)
        lines.append(
            f"{plain(r.who)[:12]:<12} {name[:26]:<26} {r.level:>2} {r.drills:>2} {r.solved:>3}  {r.against_best:>8.2f}"
            f"  {r.unsafe:>6}  {r.missed:>4}  {r.wasted:>5}  {r.misread:>4}"
        )
    return lines
