"""Where the parts of a fault tree lie on a page: gates from the top down, the faults of a gate along its stem.

A tree of sixty faults side by side would be three metres wide. So faults hang left and right of the stem of their
gate, like leaves, and gates below a gate stand in one row or in several, whichever fills the page best.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count, pairwise

from faulttree.graph.drawn import BASIC, GATE, TRANSFER, Node, letter
from faulttree.papers.blocks import Line, Mark, Shape, below, best, hung
from faulttree.papers.lettering import width, wrapped

SIZE, LEADING = 8.5, 10.0
LEAST_SIZE = 7.0
"""Letters in points before the drawing is fitted to a page, from line to line, and after it at the least."""

PAGES = {"A4": (842.0, 595.0), "A3": (1191.0, 842.0)}
MARGIN, HEADING, FOOT = 26.0, 28.0, 30.0
"""Pages lying on their side (ISO 216), in points; their margins, the heading, and the key to the symbols below."""

BOX, TEXT = 104.0, 116.0
"""Widths of the rectangle of an event, and of the words beside a fault."""

SYMBOL, STUB, PAD, LEAF_GAP = 24.0, 9.0, 5.0, 5.0
GATE_WIDTH, GATE_HEIGHT, NECK = 30.0, 26.0, 5.0
MOST_COMBS = 4


@dataclass(frozen=True, slots=True)
class Layout:
    """A tree laid out: the name of the page ("" where none is large enough), its width and height in points,
    ``scale`` by which the drawing is shrunk, and its marks and lines before that, from ``x``, ``y`` of the page on."""

    page: str
    width: float
    height: float
    scale: float
    x: float
    y: float
    marks: tuple[Mark, ...]
    lines: tuple[Line, ...]


def sheets(root: Node) -> list[Layout]:
    """The tree on one page, or where that would be too small on several, joined by transfers.

    The gate with about half of the tree below it goes on a sheet of its own, until every sheet can be read.
    """
    done: list[Layout] = []
    waiting, letters = [root], {node.mark for node in root.walk() if node.kind != BASIC}
    while waiting:
        tree = waiting.pop(0)
        found = laid_out(tree)
        gates = [node for node in tree.walk() if node.kind == GATE and node is not tree]
        if found.page or not gates:
            done.append(found)
            continue
        half = sum(1 for _ in tree.walk()) / 2
        cut = min(gates, key=lambda node: abs(sum(1 for _ in node.walk()) - half))
        mark = cut.mark or next(one for one in map(letter, count()) if one not in letters)
        letters.add(mark)
        waiting = [_without(tree, cut, mark), replace(cut, mark=mark), *waiting]
    return done


def _without(tree: Node, cut: Node, mark: str) -> Node:
    """A tree with a transfer in the place of one of its gates."""
    if tree is cut:
        return Node(cut.id, cut.name, TRANSFER, mark=mark)
    return replace(tree, below=tuple(_without(node, cut, mark) for node in tree.below))


def laid_out(root: Node) -> Layout:
    """The tree on the smallest page on which its letters keep ``LEAST_SIZE``; on a larger one of its own else."""
    shapes = _gate(root)
    for page, (wide, high) in PAGES.items():
        room = wide - 2 * MARGIN, high - 2 * MARGIN - HEADING - FOOT
        shape = min(shapes, key=lambda s: max(s.width / room[0], s.height / room[1]))
        scale = min(room[0] / shape.width, room[1] / shape.height, 1.0)
        if SIZE * scale >= LEAST_SIZE:
            return _on_page(page, wide, high, scale, shape)
    scale = LEAST_SIZE / SIZE
    wide = max(wide, shape.width * scale + 2 * MARGIN)
    high = max(high, shape.height * scale + 2 * MARGIN + HEADING + FOOT)
    return _on_page("", wide, high, scale, shape)


def _on_page(page: str, wide: float, high: float, scale: float, shape: Shape) -> Layout:
    x, placed = (wide - shape.width * scale) / 2, list(shape.placed())
    marks = tuple(one for one in placed if isinstance(one, Mark))
    lines = tuple(one for one in placed if isinstance(one, Line))
    return Layout(page, wide, high, scale, x, MARGIN + HEADING, marks, lines)


# -- gates and what hangs below them -----------------------------------------------------------------------


def _gate(node: Node) -> list[Shape]:
    """The shapes of a gate with all below it."""
    leaves = [one for one in node.below if one.kind != GATE]
    gates = [_gate(one) for one in node.below if one.kind == GATE]
    head = _head(node)
    return best(below(head, body) for body in _bodies(leaves, gates))


def _bodies(leaves: Sequence[Node], gates: Sequence[list[Shape]]) -> Iterator[Shape]:
    """What may hang below a gate: leaves along its own stem, or along stems of their own beside the gates."""
    if not leaves:
        yield from hung(gates)
        return
    for many in range(1, min(len(leaves), MOST_COMBS) + 1):
        combs = [best(_combs(part)) for part in _shares(leaves, many)]
        if many == 1:
            for comb in combs[0]:
                yield from (below(_passed(comb), row) for row in hung(gates)) if gates else (comb,)
        if many > 1 or gates:
            yield from hung([*combs, *gates])


def _passed(comb: Shape) -> Shape:
    """A comb whose stem goes on below it."""
    return replace(comb, lines=(Line(comb.entry, 0.0, comb.entry, comb.height), *comb.lines[1:]))


def _shares(leaves: Sequence[Node], many: int) -> Iterator[Sequence[Node]]:
    """Leaves in ``many`` runs of about the same number."""
    ends = [round(i * len(leaves) / many) for i in range(many + 1)]
    return (leaves[start:end] for start, end in pairwise(ends))


def _combs(leaves: Sequence[Node]) -> Iterator[Shape]:
    yield _comb(leaves, 1)
    if len(leaves) > 1:
        yield _comb(leaves, 2)


def _comb(leaves: Sequence[Node], sides: int) -> Shape:
    """Leaves along a stem, on its right, or on both sides of it."""
    reach = STUB + SYMBOL + 3.0
    words = [wrapped(leaf.name, TEXT, SIZE) for leaf in leaves]
    wide = [reach + max(width(line, SIZE) for line in lines) for lines in words]
    entry = max((wide[i] for i in range(0, len(leaves), 2)), default=0.0) if sides == 2 else 0.5
    right = max(wide[i] for i in range(len(leaves)) if sides == 1 or i % 2)
    marks: list[Mark] = []
    lines: list[Line] = []
    y = stem = 0.0
    for row in range(0, len(leaves), sides):
        pair = range(row, min(row + sides, len(leaves)))
        high = max(max(SYMBOL, LEADING * len(words[i])) for i in pair)
        stem = y + LEAF_GAP + high / 2
        for i in pair:
            onto = -1 if sides == 2 and i == row else 1
            marks += _leaf(leaves[i], words[i], wide[i] - reach, entry, stem, onto)
            lines.append(Line(entry, stem, entry + onto * STUB, stem))
        y += high + LEAF_GAP
    return Shape(entry + right, y, entry, tuple(marks), (Line(entry, 0.0, entry, stem), *lines))


def _leaf(node: Node, words: tuple[str, ...], wide: float, stem: float, middle: float, onto: int) -> Iterator[Mark]:
    """Symbol and words of a leaf; ``onto`` 1 is right of the stem, -1 left of it."""
    left = stem + STUB if onto > 0 else stem - STUB - SYMBOL
    mark = (node.mark,) if node.mark else ()
    side = "start" if onto > 0 else "end"
    yield Mark(node.kind, left, middle - SYMBOL / 2, SYMBOL, SYMBOL, mark, side, node.id)
    high = LEADING * len(words)
    at = left + SYMBOL + 3.0 if onto > 0 else left - 3.0 - wide
    yield Mark("label", at, middle - high / 2, wide, high, words, side, node.id)


def _head(node: Node) -> Shape:
    """The rectangle of an event, and its gate below it; beside that the mark by which transfers find it."""
    words = wrapped(node.name, BOX - 2 * PAD, SIZE)
    high, middle = LEADING * len(words) + 2 * PAD, BOX / 2
    top = high + NECK
    symbol = (f"{node.count}/{len(node.below)}",) if node.gate == "at_least" else ()
    marks = [
        Mark("box", 0.0, 0.0, BOX, high, words, node=node.id),
        Mark(node.gate, middle - GATE_WIDTH / 2, top, GATE_WIDTH, GATE_HEIGHT, symbol, node=node.id),
    ]
    lines = [Line(middle, high, middle, top)]
    if node.mark:
        beside = middle + GATE_WIDTH / 2
        marks.append(Mark(TRANSFER, beside + STUB, top + 2.0, SYMBOL, SYMBOL, (node.mark,), "out", node.id))
        lines.append(Line(beside, top + 14.0, beside + STUB, top + 14.0))
    return Shape(BOX, top + GATE_HEIGHT, middle, tuple(marks), tuple(lines))
