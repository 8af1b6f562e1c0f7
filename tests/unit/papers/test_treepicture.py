"""The picture of a fault tree: nothing covers anything else, letters can be read, symbols are those of NUREG-0492."""

from __future__ import annotations

from itertools import combinations
from random import Random
from xml.etree import ElementTree

import pytest

from faulttree.book.model import Book
from faulttree.graph.drawn import Node, drawn
from faulttree.papers.blocks import Line, Mark
from faulttree.papers.lettering import width, wrapped
from faulttree.papers.treelayout import LEAST_SIZE, PAGES, SIZE, Layout, sheets
from faulttree.papers.treepage import tree_page
from faulttree.papers.treepicture import APEX, _outline, as_svgs
from faulttree.workshop.treefigures import tree_paper
from tests.jobs.run import shipped_book
from tests.support.books import fault, gate, make_book, symptom
from tests.support.share import many, share

SVG = "{http://www.w3.org/2000/svg}"
HAIR = 0.01
"""Points by which rounding may let two things touch."""


def overlap(one: Mark, other: Mark) -> bool:
    """Whether two rectangles share more than an edge."""
    across = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
    down = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
    return across > HAIR and down > HAIR


def crosses(line: Line, mark: Mark) -> bool:
    """Whether a line runs through the inside of a rectangle."""
    left, right = sorted((line.x1, line.x2))
    top, bottom = sorted((line.y1, line.y2))
    across = min(right, mark.x + mark.width) - max(left, mark.x)
    down = min(bottom, mark.y + mark.height) - max(top, mark.y)
    inside_x = mark.x + HAIR < line.x1 < mark.x + mark.width - HAIR
    inside_y = mark.y + HAIR < line.y1 < mark.y + mark.height - HAIR
    return (inside_x and down > HAIR) if line.x1 == line.x2 else (inside_y and across > HAIR)


def flaws(layout: Layout) -> list[str]:
    """What covers what, what is cut off, and letters too small."""
    found = [f"{a.node} covers {b.node}" for a, b in combinations(layout.marks, 2) if overlap(a, b)]
    found += [f"{line} crosses {m.kind} {m.node}" for line in layout.lines for m in layout.marks if crosses(line, m)]
    for m in layout.marks:
        right, foot = layout.x + layout.scale * (m.x + m.width), layout.y + layout.scale * (m.y + m.height)
        if m.x < -HAIR or m.y < -HAIR or right > layout.width or foot > layout.height:
            found.append(f"{m.node} is cut off")
        found += [
            f"{words!r} is too wide"
            for words in m.words
            if m.kind != "transfer" and width(words, SIZE) > m.width + HAIR
        ]
    return found + (["too small"] if SIZE * layout.scale < LEAST_SIZE - HAIR else [])


def random_tree(rng: Random, count: int) -> Node:
    """A tree of ``count`` nodes with names of any length."""

    def name() -> str:
        return (
            " ".join("".join(rng.choices("abcdeil mwM", k=rng.randint(1, 14))) for _ in range(rng.randint(1, 9))) or "x"
        )

    def grow(count: int, depth: int) -> tuple[Node, ...]:
        nodes = []
        while count > 0:
            take = rng.randint(1, count) if depth < 5 and rng.random() < 0.5 else 1
            below = grow(take - 1, depth + 1) if take > 1 else ()
            kind = "gate" if below else rng.choice(["basic", "basic", "basic", "undeveloped", "transfer"])
            kinds = ("any_of", "all_of", "at_least", "not")
            mark = rng.choice(["", "A"]) if kind == "gate" else str(rng.randint(1, 99))
            nodes.append(Node(f"n{rng.random()}", name(), kind, rng.choice(kinds) if below else "", 2, mark, below))
            count -= take
        return tuple(nodes)

    return Node("top", name(), "gate", "any_of", below=grow(count - 1, 1))


@pytest.mark.parametrize("name", share(shipped_book().symptoms, 8, "trees"))
def test_nothing_covers_anything_in_the_trees_of_the_shipped_book(name: str) -> None:
    """No two rectangles overlap, no line runs through one, nothing is cut off; every sheet is A4 or A3 at 7 points."""
    found = sheets(drawn(shipped_book(), name))
    assert [flaw for layout in found for flaw in flaws(layout)] == []
    assert {layout.page for layout in found} <= set(PAGES)


@pytest.mark.parametrize("seed", range(many(3, 6)))
def test_nothing_covers_anything_in_random_trees(seed: int) -> None:
    """The same for trees of up to 70 nodes with names of all lengths."""
    rng = Random(seed)
    assert [flaw for layout in sheets(random_tree(rng, rng.randint(2, 70))) for flaw in flaws(layout)] == []


def test_sixty_nodes_of_the_shipped_book_fit_one_page() -> None:
    """The trees with 55 to 62 nodes need no second sheet."""
    book = shipped_book()
    trees = [drawn(book, name) for name in book.symptoms]
    sizes = {tree.id: sum(1 for _ in tree.walk()) for tree in trees}
    large = [tree for tree in trees if 55 <= sizes[tree.id] <= 62]
    assert large
    assert [tree.id for tree in large if len(sheets(tree)) > 1] == []


def test_sheets_are_joined_by_transfers() -> None:
    """What is cut off a tree is drawn whole on another sheet, below the letter that stands in its place."""
    tree = drawn(shipped_book(), "down-light-but-not-locked")
    found = sheets(tree)
    assert len(found) > 1
    faults = {m.node for layout in found for m in layout.marks if m.kind == "basic"}
    assert faults == {node.id for node in tree.walk() if node.kind == "basic"}
    gates = [(m.node, m.words) for layout in found for m in layout.marks if m.kind == "transfer" if is_gate(m, layout)]
    used = {m.words for layout in found for m in layout.marks if m.kind == "transfer" if not is_gate(m, layout)}
    assert sorted(words for _, words in gates) == sorted(used)


def test_a_line_to_the_apex_goes_on_elsewhere_and_one_to_the_side_is_come_to() -> None:
    """A transfer in and a transfer out (NUREG-0492, Fault Tree Handbook, chapter IV, symbols)."""
    tree = drawn(shipped_book(), "down-light-but-not-locked")
    for layout in sheets(tree):
        for mark in (m for m in layout.marks if m.kind == "transfer"):
            stub = _outline(mark).partition("z")[2]
            ends_at_apex = stub.endswith(f"{mark.width / 2:g}v{APEX:g}")
            assert ends_at_apex == (not is_gate(mark, layout)), (mark, stub)
            assert stub


def is_gate(mark: Mark, layout: Layout) -> bool:
    """Whether a transfer symbol stands beside a gate, which is drawn on this sheet."""
    boxes = [m for m in layout.marks if m.kind == "box" and m.node == mark.node]
    return any(box.x < mark.x < box.x + box.width and 0 < mark.y - box.y - box.height < 10 for box in boxes)


def small(name: str = "Lead chafed") -> Book:
    return make_book(
        faults=[fault("a.x", name=name), fault("b.x"), fault("c.x")],
        events=[gate("both", "all_of", "a.x", "b.x"), gate("top", "any_of", "both", "c.x")],
        symptoms=[symptom("dead", "top", unlisted=0.1)],
    )


def test_each_symbol_has_its_outline() -> None:
    """Two gates (shield and dome), three circles, a diamond (NUREG-0492, chapter IV), each once more in the key."""
    svg = as_svgs(sheets(drawn(small(), "dead")), "Dead")[0]
    paths = [path.get("d", "") for path in ElementTree.fromstring(svg).iter(f"{SVG}path")]
    shield, dome = sum("q-2 -10" in d for d in paths), sum("a15 13 0 0 0 -30 0" in d for d in paths)
    circles, diamonds = sum("0 1 0 24 0a12" in d for d in paths), sum("l12 -12l12 12l-12 12" in d for d in paths)
    assert (shield, dome, circles, diamonds) == (2, 2, 4, 2)


def test_names_are_escaped_and_made_harmless() -> None:
    """In the picture and on the page, whatever an overlay calls a fault."""
    page = tree_page(tree_paper(small("<script>alert(1)</script>\u202e & more"), "dead"))
    assert "<script" not in page
    assert "\u202e" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;\\u202e &amp; more" in page


def test_the_picture_has_no_colour() -> None:
    """Black on white."""
    svg = as_svgs(sheets(drawn(small(), "dead")), "Dead")[0]
    assert {piece[:4] for piece in svg.split("#")[1:]} <= {'000"', 'fff"'}


def test_words_are_wrapped_to_their_width_and_none_is_lost() -> None:
    """A word wider than the line is broken."""
    lines = wrapped("a brief line and an unbreakablyverylongwordthatgoesonandon", 60.0, SIZE)
    assert all(width(line, SIZE) <= 60.0 for line in lines)
    assert "".join("".join(lines).split()) == "abrieflineandanunbreakablyverylongwordthatgoesonandon"
