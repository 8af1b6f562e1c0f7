"""The picture of how the ranking moved."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import pytest

from faulttree.papers.picture import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, as_svg
from tests.support.sample_papers import record_paper

SVG = "{http://www.w3.org/2000/svg}"


def moves(count: int, causes: int = 2, name: str = "Lead chafed") -> dict[str, Any]:
    values = [[(i + c) % 7 / 10 for i in range(count)] for c in range(causes)]
    return {
        "causes": [{"fault": f"f{c}", "name": f"{name} {c}", "values": v} for c, v in enumerate(values)],
        "unlisted": [0.05] * count,
        "steps": [{"entry": 3 * i, "label": "x"} for i in range(count)],
    }


def texts(svg: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg).iter(f"{SVG}text"))


@pytest.mark.parametrize("count", [0, 1])
def test_there_is_no_picture_of_fewer_than_two_steps(count: int) -> None:
    """With no answer yet nothing has moved, and there is nothing to draw."""
    assert as_svg(moves(count)) == ""


@pytest.mark.parametrize("count", [2, 5, 60])
def test_each_line_runs_through_its_values(count: int) -> None:
    """A line has one point per step, at the height of its value, from the left edge of the plot to the right."""
    given = moves(count)
    drawn = [path.get("d", "") for path in ElementTree.fromstring(as_svg(given)).iter(f"{SVG}path")]
    lines = [d.split("M")[1] for d in drawn if d.count("M") == 2 and d.count("L") == count - 1]
    assert len(lines) == 3
    points = [tuple(float(n) for n in point.split()) for point in lines[0].split(" L")]
    assert (points[0][0], points[-1][0]) == (LEFT, RIGHT)
    heights = [(BOTTOM - y) / (BOTTOM - TOP) for _, y in points]
    assert heights == pytest.approx(given["causes"][0]["values"], abs=0.001)


def test_no_two_lines_have_the_same_dashes_and_nothing_is_told_by_colour() -> None:
    """Seven lines differ in their dashes, and every colour used is a grey."""
    svg = as_svg(record_paper()["moves"])
    dashes = re.findall(r'stroke-dasharray="([^"]*)"', svg)
    assert len(dashes) == len(set(dashes)) == 7
    for colour in re.findall(r"#[0-9a-f]{3,6}", svg):
        assert len(set(colour[1:])) == 1


@pytest.mark.parametrize("causes", [1, 6])
def test_the_names_at_the_right_stand_apart_and_inside_the_picture(causes: int) -> None:
    """Every cause is named with its chance at the right; no two lines of text there overlap or leave the picture."""
    given = moves(9, causes, "A cause with a long name that has to be broken in two lines number")
    for cause in given["causes"]:
        cause["values"] = [0.0] * 9
    labels = [text for text in texts(as_svg(given)) if float(text.get("x", "0")) > RIGHT]
    assert sum("under 1 %" in (text.text or "") for text in labels) == causes
    heights = sorted(float(text.get("y", "0")) for text in labels)
    assert heights[0] > 0
    assert heights[-1] < HEIGHT
    assert min(b - a for a, b in pairwise(heights)) >= 12.9
    assert all(float(text.get("x", "0")) < WIDTH for text in labels)


@pytest.mark.parametrize("count", [2, 12, 13, 25, 60])
def test_the_foot_is_never_crowded(count: int) -> None:
    """At most thirteen numbers stand under the plot, squawk first and the last entry last."""
    foot = [text for text in texts(as_svg(moves(count))) if float(text.get("y", "0")) == BOTTOM + 18]
    named = [text.text for text in foot]
    assert (named[0], named[-1]) == ("squawk", str(3 * (count - 1)))
    assert len(named) <= 13
    across = [float(text.get("x", "0")) for text in foot]
    assert min(b - a for a, b in pairwise(across)) > 18


def test_names_cannot_break_out_of_the_picture() -> None:
    """Markup, controls and overrides of direction in a name come out as text in well-formed SVG."""
    svg = as_svg(moves(3, 1, "</text><script>x()</script>\x1b\u202e&"))
    root = ElementTree.fromstring(svg)
    assert {element.tag for element in root.iter()} == {f"{SVG}{name}" for name in ("svg", "path", "text")}
    words = "".join(text.text or "" for text in texts(svg))
    assert "<script>" in words
    assert r"\x1b\u202e&" in words
