"""Blocks of a drawing and how they are put together: each may have several shapes, of which a page chooses one.

Lengths are points (1/72 inch), x to the right, y downwards. A shape keeps what lies in it relative to its own upper
left corner. Of all ways to put blocks together only those are kept that are not both wider and higher than another
(after Stockmeyer, Information and Control 57, 1983).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

_T = TypeVar("_T")

GAP, BUS = 10.0, 8.0
"""Between neighbours; from a stem down to what it branches into."""

MOST_SHAPES = 40
MOST_ROWS = 6


@dataclass(frozen=True, slots=True)
class Mark:
    """Something drawn in a rectangle: ``kind`` is ``box``, ``label`` or the name of a symbol; ``words`` its lines.

    ``text`` is ``start`` for a label that begins at its left edge and a symbol whose line comes from the left, ``end``
    for the right, ``middle`` for words in the middle and a line from above, ``out`` for a transfer out, to whose side
    its line comes.
    """

    kind: str
    x: float
    y: float
    width: float
    height: float
    words: tuple[str, ...] = ()
    text: str = "middle"
    node: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line, upright or level."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Shape:
    """One way to draw a block. The line from above enters at ``entry`` on the upper edge."""

    width: float
    height: float
    entry: float
    marks: tuple[Mark, ...] = ()
    lines: tuple[Line, ...] = ()
    parts: tuple[tuple[Shape, float, float], ...] = ()

    def placed(self, x: float = 0.0, y: float = 0.0) -> Iterator[Mark | Line]:
        """All that lies in the shape, with its upper left corner at x, y."""
        for m in self.marks:
            yield Mark(m.kind, m.x + x, m.y + y, m.width, m.height, m.words, m.text, m.node)
        for line in self.lines:
            yield Line(line.x1 + x, line.y1 + y, line.x2 + x, line.y2 + y)
        for part, right, down in self.parts:
            yield from part.placed(x + right, y + down)


def best(shapes: Iterable[Shape]) -> list[Shape]:
    """Those that no other is as narrow and as low as, the narrowest first, thinned to a few."""
    kept: list[Shape] = []
    for shape in sorted(shapes, key=lambda s: (s.width, s.height)):
        if not kept or shape.height < kept[-1].height - 1e-9:
            kept.append(shape)
    return _thinned(kept)


def _some(lengths: set[float]) -> list[float]:
    return _thinned(sorted(lengths))


def _thinned(many: list[_T]) -> list[_T]:
    """A few of many, evenly, with the first and the last."""
    if len(many) <= MOST_SHAPES:
        return many
    last = len(many) - 1
    return [many[round(i * last / (MOST_SHAPES - 1))] for i in range(MOST_SHAPES)]


def below(head: Shape, body: Shape) -> Shape:
    """A body under a head, the stem of the one in the stem of the other."""
    entry = max(head.entry, body.entry)
    right = max(head.width - head.entry, body.width - body.entry)
    parts = ((head, entry - head.entry, 0.0), (body, entry - body.entry, head.height))
    return Shape(entry + right, head.height + body.height, entry, parts=parts)


def hung(blocks: Sequence[Sequence[Shape]]) -> list[Shape]:
    """Blocks hung on one stem: side by side, or in several rows, the stem between them or on their left.

    They stand in their order, or the highest first, where that makes the whole smaller.
    """
    if not blocks:
        return []
    found: list[Shape] = []
    for order in (blocks, sorted(blocks, key=lambda block: -block[len(block) // 2].height)):
        for count in range(1, min(len(blocks), MOST_ROWS) + 1):
            runs = _split(order, count)
            for left in (False, True):
                found += _stacked([_row(run, place < count - 1, left) for place, run in enumerate(runs)])
    return best(found)


def _split(blocks: Sequence[Sequence[Shape]], count: int) -> list[Sequence[Sequence[Shape]]]:
    """Blocks in ``count`` runs of about the same width."""
    widths = [block[len(block) // 2].width for block in blocks]
    share, begun, so_far = sum(widths) / count, 0, 0.0
    runs: list[Sequence[Sequence[Shape]]] = []
    for place, one in enumerate(widths):
        so_far += one
        runs_left, blocks_left = count - len(runs) - 1, len(blocks) - place - 1
        if runs_left and (so_far >= share * (len(runs) + 1) - one / 2 or blocks_left == runs_left):
            runs.append(blocks[begun : place + 1])
            begun = place + 1
    return [*runs, blocks[begun:]]


def _row(blocks: Sequence[Sequence[Shape]], passing: bool, left: bool) -> list[Shape]:
    """Blocks side by side, as narrow as each height allows; where the stem is ``passing``, it has room to do so."""
    found = []
    for most in _some({shape.height for block in blocks for shape in block}):
        low = [next((s for s in block if s.height <= most + 1e-9), None) for block in blocks]
        chosen = [shape for shape in low if shape is not None]
        if len(chosen) == len(blocks):
            found.append(_side_by_side(chosen, passing, left))
    return best(found)


def _side_by_side(shapes: Sequence[Shape], passing: bool, left: bool) -> Shape:
    """One row. The stem comes in on the left, or where both sides of it are about as wide."""
    before = 0 if left else _even(shapes) if passing else -1
    places, x, entry = [], 0.0, 0.0
    for place, shape in enumerate(shapes):
        if place == before:
            entry, x = x, x + GAP
        places.append(x)
        x += shape.width + GAP
    width, entries = x - GAP, [at + shape.entry for at, shape in zip(places, shapes, strict=True)]
    if before == len(shapes):
        entry = width = x
    if before < 0:
        entry = entries[0] if len(shapes) == 1 else (entries[0] + entries[-1]) / 2
    straight = not passing and len(entries) == 1 and before < 0
    top = BUS if straight else 2 * BUS
    height = top + max(shape.height for shape in shapes) + (GAP if passing else 0.0)
    stem = Line(entry, 0.0, entry, height if passing else top if straight else BUS)
    parts = tuple((shape, at, top) for shape, at in zip(shapes, places, strict=True))
    return Shape(width, height, entry, lines=(stem, *(() if straight else _bus(entry, entries, top))), parts=parts)


def _bus(entry: float, entries: Sequence[float], top: float) -> Iterator[Line]:
    yield Line(min(entry, *entries), BUS, max(entry, *entries), BUS)
    yield from (Line(x, BUS, x, top) for x in entries)


def _even(shapes: Sequence[Shape]) -> int:
    """How many stand left of the stem, so that both sides are about as wide."""
    whole, so_far = sum(shape.width for shape in shapes), 0.0
    uneven = []
    for shape in shapes:
        so_far += shape.width
        uneven.append(abs(whole - 2 * so_far))
    return uneven.index(min(uneven)) + 1


def _stacked(rows: Sequence[Sequence[Shape]]) -> list[Shape]:
    """Rows below each other, each as low as the width allows."""
    found = []
    for most in _some({shape.width for row in rows for shape in row}):
        chosen = [min((s for s in row if s.width <= most + 1e-9), key=lambda s: s.height, default=None) for row in rows]
        fitting = [shape for shape in chosen if shape is not None]
        if len(fitting) == len(rows):
            whole = fitting[0]
            for shape in fitting[1:]:
                whole = below(whole, shape)
            found.append(whole)
    return found
