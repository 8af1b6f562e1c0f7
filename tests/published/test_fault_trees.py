"""Published fault trees through our graph: cut sets, exact probability of the top event, shares of the cut sets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from faulttree.book.model import Book
from faulttree.graph.cutsets import minimal_cut_sets
from faulttree.graph.quantify import Diagram, shares
from tests.support import plain_yaml
from tests.support.books import fault, gate, make_book

EXAMPLES: Mapping[str, Any] = plain_yaml.read(Path(__file__).parent / "fault_trees.yaml")
SHARES = [(name, row) for name, example in EXAMPLES.items() for row in example.get("shares", ())]


def having(key: str) -> list[str]:
    return [name for name, example in EXAMPLES.items() if key in example]


def book_of(example: Mapping[str, Any]) -> Book:
    faults = [fault(name, probability=p) for name, p in example["probabilities"].items()]
    return make_book(faults, [gate(name, kind, *of) for name, (kind, *of) in example["gates"].items()])


@pytest.mark.parametrize("name", having("top_event"))
def test_the_top_event_has_its_published_probability(name: str) -> None:
    """The exact probability is the published one, to the digits that are good in it."""
    example = EXAMPLES[name]
    value, relative = example["top_event"]["value"], example["top_event"]["relative"]
    found = Diagram(book_of(example), example["top"]).probability(example["probabilities"])
    assert found == pytest.approx(value, rel=relative)


@pytest.mark.parametrize("name", having("cut_sets"))
def test_the_cut_sets_are_those_published(name: str) -> None:
    """The same sets and no others."""
    found = minimal_cut_sets(book_of(EXAMPLES[name]), EXAMPLES[name]["top"])
    assert set(found) == {frozenset(one) for one in EXAMPLES[name]["cut_sets"]}


@pytest.mark.parametrize(("name", "row"), SHARES, ids=lambda x: "-".join(x["set"]) if isinstance(x, dict) else x)
def test_a_cut_set_has_its_published_share(name: str, row: Mapping[str, Any]) -> None:
    """Its part of the sum of all cut sets is the printed one, or below the printed bound."""
    example = EXAMPLES[name]
    found = shares(minimal_cut_sets(book_of(example), example["top"]), example["probabilities"])[frozenset(row["set"])]
    if "below" in row:
        assert found < row["below"]
    else:
        assert found == pytest.approx(row["value"], abs=row["within"])


def test_fussell_vesely_of_the_pressure_tank_is_the_sum_of_its_cut_sets_shares() -> None:
    """For rare events the exact importance of a fault comes to the shares of its cut sets, as NUREG-0492 adds them.

    The handbook adds cut sets where the exact figure takes their union; the difference is of the order of the
    probability of two cut sets at once (here 1e-4 of the share at most).
    """
    example = EXAMPLES["pressure-tank-shares"]
    book, p = book_of(example), example["probabilities"]
    by_set = shares(minimal_cut_sets(book, "rupture"), p)
    for name, found in Diagram(book, "rupture").importance(p).items():
        added = math.fsum(share for one, share in by_set.items() if name in one)
        assert found.fussell_vesely == pytest.approx(added, rel=2e-4), name
