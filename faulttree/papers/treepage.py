"""The fault tree of a symptom as one HTML page: its sheets, cut sets and importance."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from faulttree.clean import cleaned
from faulttree.graph.drawn import Node
from faulttree.papers.page import environment, knowledge_on_a_line, one_line
from faulttree.papers.treelayout import sheets
from faulttree.papers.treepicture import as_svgs


def svgs_of(paper: Mapping[str, Any]) -> list[str]:
    """The pictures of ``paper`` (as ``workshop.treefigures.tree_paper`` gives it), one for each sheet."""
    return as_svgs(sheets(_node(paper["tree"])), paper["symptom"]["name"], _beside(paper))


BESIDE = 110
"""Signs beside the title at most: the gear, the knowledge and what is laid over it."""


def tree_page(paper: Mapping[str, Any]) -> str:
    """``paper`` as a page that needs no other file: every sheet as SVG, then the tables. All text is escaped."""
    told = cleaned(paper)
    names = {fault["id"]: fault["name"] for fault in told["faults"]}
    name = told["symptom"]["name"]
    sheet = {
        "title": "Fault tree",
        "job": one_line(name, 80),
        "case": one_line(told["name"], 60),
        "line": one_line(f"{name} · {told['name']}", 80),
        "short_digest": knowledge_on_a_line(told["knowledge"]),
    }
    laid = sheets(_node(told["tree"]))
    page, high = ("A4", 184) if all(layout.page == "A4" for layout in laid) else ("A3", 271)
    # The pictures are made by a template that escapes every text in them.
    svgs = [Markup(svg) for svg in as_svgs(laid, name, _beside(told))]
    return environment().get_template("tree.html.j2").render(
        sheet=sheet, paper=told, svgs=svgs, names=names, figure=figure, share=share, page=page, high=high
    )  # fmt: skip


def figure(value: float) -> str:
    """A probability in two digits that count; 0 as it is."""
    return "0" if value == 0 else f"{value:.2g}" if abs(value) >= 0.001 else f"{value:.1e}"


def share(value: float) -> str:
    """A part of a whole in per cent."""
    return f"{100 * value:.1f} %" if value >= 0.001 or value == 0 else "under 0.1 %"


def _beside(paper: Mapping[str, Any]) -> str:
    return one_line(f"{paper['name']}, {knowledge_on_a_line(paper['knowledge'])}", BESIDE)


def _node(told: Mapping[str, Any]) -> Node:
    below = tuple(_node(one) for one in told["below"])
    return Node(told["id"], told["name"], told["kind"], told["gate"], told["count"], told["mark"], below)
