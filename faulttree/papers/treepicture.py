"""A fault tree as a picture in SVG with the gate symbols of NUREG-0492, in black on white, ready to be printed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from faulttree.clean import plain
from faulttree.papers.blocks import Line, Mark
from faulttree.papers.lettering import width
from faulttree.papers.page import environment
from faulttree.papers.treelayout import FOOT, GATE_HEIGHT, GATE_WIDTH, LEADING, MARGIN, SIZE, SYMBOL, Layout

KEY = {
    "any_of": "any of what hangs below",
    "all_of": "all of it together",
    "at_least": "at least as many as it says",
    "not": "none of it",
    "basic": "fault, by its number",
    "undeveloped": "not followed further",
    "transfer": "goes on at the gate with this letter",
}
"""What each symbol says, in the order in which the key at the foot tells them."""

APEX = 2.5
"""How far above its apex the line of a transfer turns to it."""

_OR = "v-12q-2 -10 -15 -14q-13 4 -15 14v12q15 -7 30 0z"
_SHAPES = {
    # From the lower right corner, 30 by 26. The shield is the OR gate, the dome the AND gate (NUREG-0492, chapter IV).
    "any_of": f"{_OR}m-15 0v-3.5",
    "at_least": f"{_OR}m-15 0v-3.5",
    "not": "v-9q-2 -9 -15 -12q-13 3 -15 12v9q15 -7 30 0zm-15 0v-3.5m-2.5 -20a2.5 2.5 0 1 0 5 0a2.5 2.5 0 1 0 -5 0z",
    "all_of": "v-13a15 13 0 0 0 -30 0v13z",
}


def as_svgs(laid: Sequence[Layout], title: str, beside: str = "") -> list[str]:
    """The sheets of a tree as SVG documents; ``title`` stands above each, ``beside`` at the right of that.

    Each is as large as the page it is laid out for. Every text is cleaned and escaped.
    """
    sheet = [f", sheet {number} of {len(laid)}" if len(laid) > 1 else "" for number in range(1, len(laid) + 1)]
    return [picture_of(layout, title + more, beside) for layout, more in zip(laid, sheet, strict=True)]


def picture_of(layout: Layout, title: str, beside: str = "") -> str:
    """A layout as SVG."""
    used = {mark.kind for mark in layout.marks}
    return environment().get_template("tree.svg.j2").render(
        layout=layout, title=plain(title), beside=plain(beside), size=SIZE, margin=MARGIN,
        small=f"{SIZE * layout.scale:.4g}",
        lines=" ".join(_line(line) for line in layout.lines), marks=[_drawn(mark) for mark in layout.marks],
        key=_key([kind for kind in KEY if kind in used], layout),
    )  # fmt: skip


def _line(line: Line) -> str:
    return f"M{line.x1:.4g} {line.y1:.4g}L{line.x2:.4g} {line.y2:.4g}"


def _drawn(mark: Mark) -> dict[str, Any]:
    """What the template draws of one mark: an outline, and lines of text."""
    x = {"start": mark.x, "end": mark.x + mark.width}.get(mark.text, mark.x + mark.width / 2)
    if mark.kind not in ("box", "label"):
        x = mark.x + mark.width / 2
    middle = mark.y + mark.height / 2 + (3.5 if mark.kind == "transfer" else 0.0)
    first = middle - LEADING * len(mark.words) / 2 + LEADING * 0.76
    anchor = mark.text if mark.kind == "label" else "middle"
    words = [(plain(line), f"{first + LEADING * n:.5g}") for n, line in enumerate(mark.words)]
    return {"outline": _outline(mark), "x": f"{x:.5g}", "anchor": anchor, "words": words, "bold": mark.kind == "box"}


def _outline(mark: Mark) -> str:
    x, y, w, h = mark.x, mark.y, mark.width, mark.height
    if mark.kind == "label":
        return ""
    if mark.kind == "box":
        return f"M{x:.5g} {y:.5g}h{w:g}v{h:g}h{-w:g}z"
    if mark.kind == "basic":
        half = h / 2
        return f"M{x:.5g} {y + half:.5g}a{half:g} {half:g} 0 1 0 {w:g} 0a{half:g} {half:g} 0 1 0 {-w:g} 0z"
    if mark.kind == "undeveloped":
        return f"M{x:.5g} {y + h / 2:.5g}l{w / 2:g} {-h / 2:g}l{w / 2:g} {h / 2:g}l{-w / 2:g} {h / 2:g}z"
    if mark.kind == "transfer":
        # A line to the apex says that it comes in from elsewhere, one to a side that it goes out (NUREG-0492, IV-3).
        up = f"v{-h / 2 - APEX:g}h"
        stubs = {
            "start": f"M{x:.5g} {y + h / 2:.5g}{up}{w / 2:g}v{APEX:g}",
            "end": f"M{x + w:.5g} {y + h / 2:.5g}{up}{-w / 2:g}v{APEX:g}",
            "out": f"M{x:.5g} {y + h / 2:.5g}h{w / 4:g}",
        }
        stub = stubs.get(mark.text, "")
        return f"M{x:.5g} {y + h:.5g}l{w / 2:g} {-h:g}l{w / 2:g} {h:g}z{stub}"
    return f"M{x + w:.5g} {y + h:.5g}{_SHAPES[mark.kind]}"


def _key(kinds: list[str], layout: Layout) -> list[dict[str, Any]]:
    """Each symbol of the picture with what it says, in a row along the foot that breaks where the page ends."""
    found, x = [], MARGIN
    y = layout.height - MARGIN - FOOT + 10.0
    for kind in kinds:
        gate = kind in _SHAPES
        wide, high = (GATE_WIDTH, GATE_HEIGHT) if gate else (SYMBOL, SYMBOL)
        room = 0.7 * wide + 4.0 + width(KEY[kind], 7.5) + 16.0
        if x + room > layout.width - MARGIN:
            x, y = MARGIN, y + 19.0
        found.append(
            {"x": f"{x:.5g}", "y": f"{y:.5g}", "words_at": f"{x + 0.7 * wide + 4.0:.5g}", "words": KEY[kind],
             "outline": _outline(Mark(kind, 0.0, 0.0, wide, high)), "base": f"{y + 0.7 * high / 2 + 2.5:.5g}"}
        )  # fmt: skip
        x += room
    return found
