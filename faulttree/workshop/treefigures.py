"""What the fault tree of a symptom adds up to: probability, minimal cut sets and importance, as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from faulttree.belief.priors import mode_priors
from faulttree.book.model import Book
from faulttree.errors import FaulttreeError
from faulttree.graph.cutsets import CutSet, minimal_cut_sets
from faulttree.graph.drawn import BASIC, Node, drawn
from faulttree.graph.quantify import Diagram, shares

LONGEST_HOURS = 20000.0


def tree_paper(
    book: Book, symptom: str, hours: float | None = None, depth: int | None = None, most: int | None = None
) -> dict[str, Any]:
    """The tree of a symptom with its figures, for a screen or a page.

    Parameters
    ----------
    hours:
        Flight hours in which a fault may have come about; the book's own figure if not given. Each fault then has the
        prior that belief gives it, in either mode, without circumstances.
    depth, most:
        How many levels of gates are drawn, and how many cut sets are told, the likeliest first; all if not given.

    Returns
    -------
    Keys ``family``, ``name``, ``knowledge``, ``fitted``, ``assumed``, ``symptom`` {id, name}, ``hours``,
    ``probability`` of the event (0 … 1; a cause that is not listed has no part in it), ``unlisted``, ``faults`` the
    likeliest to matter first [{number, id, name, probability, fussell_vesely, birnbaum}], ``cut_sets``
    [{faults, numbers, probability, share}], ``cut_sets_in_all``, ``bounds`` whether a ``not`` lies below, so that a set
    brings the event about only where something else is in order and its probability is an upper bound, ``tree`` {id,
    name, kind, gate, count, mark, below}.
    Raises UnknownName; FaulttreeError for hours out of bounds.
    """
    hours = book.defaults.hours if hours is None else hours
    if not 0 < hours <= LONGEST_HOURS:
        raise FaulttreeError(f"hours lie between 0 and {LONGEST_HOURS:.0f}")
    root = drawn(book, symptom, depth)
    top = book.symptoms[symptom]
    diagram = Diagram(book, top.when)
    p = {name: _chance(book, name, hours) for name in diagram.faults}
    cut_sets = minimal_cut_sets(book, top.when)
    numbers = {node.id: node.mark for node in root.walk() if node.kind == BASIC}
    return {
        "paper": "fault-tree",
        "family": book.family,
        "name": book.name,
        "knowledge": {"version": book.version, "digest": book.digest},
        "fitted": [option.name for option in book.options.values() if book.fitted.get(option.group) == option.id],
        "assumed": list(book.assumed),
        "symptom": {"id": symptom, "name": top.name},
        "hours": hours,
        "probability": diagram.probability(p),
        "unlisted": top.unlisted,
        "faults": _faults(book, diagram, p, numbers),
        "cut_sets": _cut_sets(cut_sets, p, numbers)[:most],
        "cut_sets_in_all": len(cut_sets),
        "bounds": _has_not(book, top.when),
        "tree": as_data(root),
    }


def as_data(node: Node) -> dict[str, Any]:
    """A node and all below it."""
    told = {"id": node.id, "name": node.name, "kind": node.kind, "gate": node.gate, "count": node.count}
    return {**told, "mark": node.mark, "below": [as_data(one) for one in node.below]}


def _has_not(book: Book, name: str) -> bool:
    """Whether a ``not`` lies below an event."""
    waiting = [name]
    for one in waiting:
        event = book.events.get(one)
        if event is not None:
            if event.gate == "not":
                return True
            waiting += [part for part in event.of if part not in waiting]
    return False


def _chance(book: Book, fault: str, hours: float) -> float:
    priors = mode_priors(book, book.faults[fault], (), hours)
    return priors.hard + priors.comes_and_goes


def _faults(book: Book, diagram: Diagram, p: Mapping[str, float], numbers: Mapping[str, str]) -> list[dict[str, Any]]:
    importance = diagram.importance(p)
    told = [
        {
            "number": numbers.get(name, ""),
            "id": name,
            "name": book.faults[name].name,
            "probability": p[name],
            "fussell_vesely": importance[name].fussell_vesely,
            "birnbaum": importance[name].birnbaum,
        }
        for name in diagram.faults
    ]
    return sorted(told, key=lambda one: (-float(one["fussell_vesely"]), -float(one["birnbaum"]), str(one["id"])))


def _cut_sets(cut_sets: list[CutSet], p: Mapping[str, float], numbers: Mapping[str, str]) -> list[dict[str, Any]]:
    """The likeliest first; ``share`` is a set's part of the sum of all."""
    part = shares(cut_sets, p)
    found = []
    for one in sorted(cut_sets, key=lambda each: (-part[each], len(each), sorted(each))):
        names = sorted(one, key=lambda name: (-p[name], name))
        product = 1.0
        for name in names:
            product *= p[name]
        marks = [numbers.get(name, "") for name in names]
        found.append({"faults": names, "numbers": marks, "probability": product, "share": part[one]})
    return found
