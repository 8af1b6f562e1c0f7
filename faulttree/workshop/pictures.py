"""The history of the shop's cases as one HTML page with pictures that need no colour and no other file."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.book.model import Book
from faulttree.clean import cleaned
from faulttree.papers.lettering import width
from faulttree.papers.page import cut, environment
from faulttree.workshop.history import Bin, Count, History, Time

WIDTH = 800
BARS_AT, BARS_END, BAR, MOST_BARS = 330, 680, 22, 10
"""Where the bars of the causes begin and end, the height of one, and how many a symptom has at most."""

NAME, LETTERS = 52, 12.5
"""Letters of a cause at most, and their size."""

PLOT_LEFT, PLOT_RIGHT, PLOT_TOP, PLOT_BOTTOM, PLOT_HEIGHT = 70, 510, 14, 354, 400
DOT, LARGEST_DOT = 3.0, 13.0


@dataclass(frozen=True, slots=True)
class Family:
    """What the page tells of one family: its book, names of faults by the ids of the files, counts, history."""

    book: Book
    names: Mapping[str, str]
    closed: int
    counted: int
    history: History


def as_html(families: Sequence[Family]) -> str:
    """The page. Every text in it is cleaned and escaped."""
    told = [_family(family) for family in families]
    sheet = {
        "title": "Closed cases, looked back on",
        "job": "",
        "case": f"{sum(family.closed for family in families)} closed cases",
        "line": ", ".join(family.book.name for family in families),
        "short_digest": "",
    }
    shown = cleaned({"sheet": sheet, "families": told, "width": WIDTH})
    return environment().get_template("history.html.j2").render(shown)


def _family(family: Family) -> dict[str, Any]:
    symptoms = family.book.symptoms
    history = family.history
    most = max((max(r.found, r.expected) for rows in history.causes.values() for r in rows), default=1.0)
    return {
        "name": family.book.name,
        "closed": family.closed,
        "counted": family.counted,
        "looked_at": history.looked_at,
        "symptoms": [
            _bars(symptoms[s].name if s in symptoms else s, rows, family.names, most)
            for s, rows in history.causes.items()
        ],
        "minutes": _minutes(history.minutes),
        "calibration": _calibration(history.calibration),
    }


def _fitting(name: str) -> str:
    """A name cut to the room before the bars, in whichever font it is read."""
    most = NAME
    while width(cut(name, most), LETTERS) > BARS_AT - 8:
        most -= 1
    return cut(name, most)


def _bars(title: str, rows: Sequence[Count], names: Mapping[str, str], most: float) -> dict[str, Any]:
    """One bar per cause for the times it was found, a mark where the book expects it to end."""
    across = (BARS_END - BARS_AT) / max(most, 1.0)
    shown = [
        {
            "name": _fitting(names.get(row.fault, row.fault)),
            "y": place * BAR + 4,
            "long": round(row.found * across, 1),
            "mark": round(BARS_AT + row.expected * across, 1),
            "said": f"{row.found}",
            "said_at": round(BARS_AT + max(row.found, row.expected) * across + 7, 1),
            "expected": f"{row.expected:.1f}",
        }
        for place, row in enumerate(rows[:MOST_BARS])
    ]
    return {
        "title": title, "cases": sum(row.found for row in rows), "rows": shown, "more": max(len(rows) - MOST_BARS, 0),
        "height": len(shown) * BAR + 8, "from": BARS_AT, "bar": BAR - 8,
    }  # fmt: skip


def _frame(top: float, ticks: Sequence[tuple[str, float]]) -> dict[str, Any]:
    """The square of a plot from 0 to ``top`` both ways, with its ticks as words and values, and the diagonal."""
    return {
        "left": PLOT_LEFT, "right": PLOT_RIGHT, "top": PLOT_TOP, "bottom": PLOT_BOTTOM, "height": PLOT_HEIGHT,
        "across": [(words, _x(value / top)) for words, value in ticks],
        "upright": [(words, _y(value / top)) for words, value in ticks],
    }  # fmt: skip


def _x(part: float) -> float:
    return round(PLOT_LEFT + (PLOT_RIGHT - PLOT_LEFT) * part, 1)


def _y(part: float) -> float:
    return round(PLOT_BOTTOM - (PLOT_BOTTOM - PLOT_TOP) * part, 1)


def _minutes(times: Sequence[Time]) -> dict[str, Any] | None:
    """A dot per case: across what was told, upright what was spent."""
    if not times:
        return None
    top = max(max(t.told, t.spent) for t in times)
    step = next(s for s in (10, 30, 60, 120, 240, 480, 960, 10**9) if top / s <= 6 or s == 10**9)
    top = math.ceil(top / step) * float(step)
    ticks = [(f"{n * step}", float(n * step)) for n in range(round(top / step) + 1)]
    kept = sum(t.spent <= t.told_80 for t in times)
    return _frame(top, ticks) | {
        "dots": [{"x": _x(t.told / top), "y": _y(t.spent / top), "r": DOT} for t in times],
        "cases": len(times), "kept": kept, "told": round(sum(t.told for t in times) / len(times)),
        "spent": round(sum(t.spent for t in times) / len(times)),
    }  # fmt: skip


def _calibration(bins: Sequence[Bin]) -> dict[str, Any] | None:
    """A dot per bin, the larger the more causes are in it: across what was said, upright what was so."""
    if not bins:
        return None
    most = max(b.count for b in bins)
    ticks = [(f"{n * 20} %", n / 5.0) for n in range(6)]
    dots = [
        {"x": _x(b.said), "y": _y(b.was), "r": round(max(LARGEST_DOT * math.sqrt(b.count / most), DOT), 1)}
        for b in bins
    ]
    rows = [{"said": f"{b.said:.0%}", "was": f"{b.was:.0%}", "count": b.count} for b in bins]
    return _frame(1.0, ticks) | {"dots": dots, "rows": rows}
