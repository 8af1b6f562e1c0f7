"""Rings, found and shown."""

from __future__ import annotations

import pytest

from faulttree.book.rings import in_order, rings, shown


def test_order_puts_each_after_what_it_names() -> None:
    """A graph without a ring has an order, with what is named first."""
    assert in_order({"a": ["b", "c"], "b": ["c"], "c": []}) == ["c", "b", "a"]


def test_a_ring_has_no_order() -> None:
    """A graph with a ring has none."""
    assert in_order({"a": ["b"], "b": ["a"]}) is None


def test_every_separate_ring_is_found() -> None:
    """Two rings that share nothing are both found, each from a name to what it names."""
    graph = {"a": ["b"], "b": ["c"], "c": ["a"], "x": ["y"], "y": ["x"], "free": ["a"]}
    assert sorted(shown(ring) for ring in rings(graph)) == ["a -> b -> c -> a", "x -> y -> x"]


@pytest.mark.parametrize(
    ("ring", "words"),
    [
        (["b", "c", "a"], "a -> b -> c -> a"),
        (["a"], "a -> a"),
        (["a", "a"], "a -> a"),
        (["b", "a", "a"], "a -> b -> a"),
    ],
)
def test_a_ring_is_shown_link_by_link(ring: list[str], words: str) -> None:
    """It begins at its first name in the alphabet; parts of one entry are shown as that entry."""
    assert shown(ring) == words
