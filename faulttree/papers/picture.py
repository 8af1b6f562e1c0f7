"""How the ranking moved over the answers, as a line picture in SVG that needs no colour."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.clean import cleaned
from faulttree.papers.page import cut, environment, percent

WIDTH, HEIGHT = 800, 350
LEFT, RIGHT, TOP, BOTTOM = 46, 508, 14, 296  # edges of the plot; what is right of it holds the labels
SAMPLE_AT, LABEL_AT = 536, 572  # a piece of the line itself, then its name
LABEL_UNITS, LABEL_LINE, LABEL_GAP = 38, 13, 5
MOST_TICKS = 12

_DASHES = ("", "9 4", "3 3", "12 3 2 3", "16 4", "6 2 2 2 2 2")
_MARKERS = ("disc", "square", "triangle", "diamond", "cross", "plus")
_UNLISTED = "Cause that the book does not list"


@dataclass(frozen=True, slots=True)
class _Line:
    """One cause: ``points`` in picture units, ``label`` in up to two lines."""

    points: list[tuple[float, float]]
    label: list[str]
    dash: str
    marker: str
    faint: bool = False


def as_svg(moves: Mapping[str, Any]) -> str:
    """The picture of ``moves`` (as in the record: causes, unlisted, steps); "" for fewer than two steps.

    One line per cause, told apart by dashes and marks and named at its right end; upright the probability from 0 to
    100 %, along the foot the numbers of the entries. Every text in it is cleaned and escaped.
    """
    moves = cleaned(moves)
    steps = moves["steps"]
    if len(steps) < 2:
        return ""
    lines = _lines(moves)
    labels = _apart([(line.points[-1][1], LABEL_LINE * len(line.label)) for line in lines])
    return environment().get_template("moves.svg.j2").render(
        width=WIDTH, height=HEIGHT, left=LEFT, right=RIGHT, top=TOP, bottom=BOTTOM, label_at=LABEL_AT,
        label_line=LABEL_LINE, grid=[(f"{share} %", _height(share / 100)) for share in (0, 25, 50, 75, 100)],
        ticks=_ticks(steps), drawn=[_drawn(line, middle) for line, middle in zip(lines, labels, strict=True)],
    )  # fmt: skip


def _lines(moves: Mapping[str, Any]) -> list[_Line]:
    count = len(moves["steps"])
    kinds = zip(moves["causes"], _DASHES, _MARKERS, strict=False)
    lines = [
        _Line(_points(cause["values"], count), _label(cause["name"], cause["values"]), dash, marker)
        for cause, dash, marker in kinds
    ]
    unlisted = moves["unlisted"]
    if unlisted:
        lines.append(_Line(_points(unlisted, count), _label(_UNLISTED, unlisted), "1 3", "", faint=True))
    return lines


def _points(values: Sequence[float], count: int) -> list[tuple[float, float]]:
    across = (RIGHT - LEFT) / (count - 1)
    return [(round(LEFT + i * across, 1), _height(value)) for i, value in enumerate(values)]


def _height(probability: float) -> float:
    return round(BOTTOM - (BOTTOM - TOP) * min(max(probability, 0.0), 1.0), 1)


def _label(name: str, values: Sequence[float]) -> list[str]:
    """Chance and name broken into at most two lines by the width of their letters."""
    lines = [""]
    for word in f"{percent(values[-1])} {name}".split():
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if _units(longer) <= LABEL_UNITS or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    if len(lines) > 2:
        lines = [lines[0], " ".join(lines[1:])]
    return [_fitting(line) for line in lines]


def _units(text: str) -> float:
    """Width in small letters, roughly: capitals count half as much again, full-width signs twice."""
    return sum(2 if unicodedata.east_asian_width(c) in "WF" else 1.5 if c.isupper() else 1 for c in text)


def _fitting(line: str) -> str:
    while _units(line) > LABEL_UNITS + 2:
        line = cut(line, min(len(line) - 1, LABEL_UNITS + 2))
    return line


def _apart(wanted: Sequence[tuple[float, float]]) -> list[float]:
    """Middles of the labels as near to the wanted ones as they can be without covering each other."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i][0])
    placed = [0.0] * len(wanted)
    floor = float(TOP) - LABEL_GAP
    for i in order:
        middle, tall = wanted[i]
        placed[i] = max(middle, floor + LABEL_GAP + tall / 2)
        floor = placed[i] + tall / 2
    ceiling = float(HEIGHT)
    for i in reversed(order):
        tall = wanted[i][1]
        placed[i] = min(placed[i], ceiling - tall / 2)
        ceiling = placed[i] - tall / 2 - LABEL_GAP
    return placed


def _ticks(steps: Sequence[Mapping[str, Any]]) -> list[tuple[str, float]]:
    """Numbers of entries along the foot, thinned to what can be read; the last is always there."""
    every = math.ceil(len(steps) / MOST_TICKS)
    across = (RIGHT - LEFT) / (len(steps) - 1)
    last = len(steps) - 1
    shown = [i for i in range(0, last, every) if last - i >= every / 2] + [last]
    return [(cut(str(steps[i]["entry"]), 6) if i else "squawk", round(LEFT + i * across, 1)) for i in shown]


def _drawn(line: _Line, middle: float) -> dict[str, Any]:
    """What the template draws of one line; marks thinned so that they do not cover the dashes."""
    every = math.ceil(len(line.points) / MOST_TICKS)
    beside = (LABEL_AT + SAMPLE_AT) / 2 - 3
    marked = [*line.points[:-1:every], line.points[-1], (beside, middle)]
    first = middle - LABEL_LINE * len(line.label) / 2 + LABEL_LINE * 0.76
    return {
        "path": "M" + " L".join(f"{x:g} {y:g}" for x, y in line.points),
        "dash": line.dash,
        "faint": line.faint,
        "marks": [_mark(line.marker, x, y) for x, y in marked] if line.marker else [],
        "hollow": line.marker in ("square", "diamond"),
        "sample": f"M{SAMPLE_AT} {middle:g}H{LABEL_AT - 6}",
        "leader": f"M{RIGHT} {line.points[-1][1]:g} L{SAMPLE_AT} {middle:g}",
        "label": [(text, round(first + LABEL_LINE * n, 1)) for n, text in enumerate(line.label)],
    }


def _mark(marker: str, x: float, y: float) -> str:
    """The outline of one mark, some 8 units across."""
    shapes = {
        "disc": "m-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z",
        "square": "m-3.5 -3.5h7v7h-7z",
        "triangle": "m0 -4.5l4.5 8h-9z",
        "diamond": "m0 -5l5 5l-5 5l-5 -5z",
        "cross": "m-4 -4l8 8m0 -8l-8 8",
        "plus": "m-4.5 0h9m-4.5 -4.5v9",
    }
    return f"M{x:g} {y:g}{shapes[marker]}"
