"""The fault tree of what was reported."""

from __future__ import annotations

import pytest

from faulttree.book import read_texts
from faulttree.book.model import Book
from faulttree.dialogue.tree import Branch, FaultTree
from faulttree.graph.gates import Gates
from tests.support.small_family import FAMILY, shared_texts

EVENTS = """
events:
  guard-fails: {name: Guard fails, any_of: [guard-switch.stuck, guard-switch.lead-chafed]}
  both: {name: Both at once, all_of: [guard-switch.stuck, motor.brushes-worn]}
"""
STUCK, CHAFED, WORN = FAULTS = ("guard-switch.stuck", "guard-switch.lead-chafed", "motor.brushes-worn")


@pytest.fixture(scope="module")
def book() -> Book:
    family = FAMILY.replace(
        "any_of: [guard-switch.stuck, guard-switch.lead-chafed, motor.brushes-worn]",
        "any_of: [guard-fails, motor.brushes-worn]",
    )
    reading = read_texts({**shared_texts(), "made-up/all.yaml": family + EVENTS}, "made-up")
    assert reading.book is not None, reading.problems
    return reading.book


def drawn(book: Book, now: tuple[float, float, float], first: tuple[float, float, float], step: str = "") -> Branch:
    tree = FaultTree(book, Gates(book), dict(zip(FAULTS, now, strict=True)), dict(zip(FAULTS, first, strict=True)))
    return tree.of_symptom("stays-down", step)


def told(branch: Branch) -> list[tuple[str, str]]:
    return [(below.name, below.stands) for below in branch.below]


def test_the_likeliest_branch_comes_first(book: Book) -> None:
    """An event has what its causes have together."""
    tree = drawn(book, (0.3, 0.3, 0.35), (0.3, 0.3, 0.35))
    assert told(tree) == [("Guard fails", "strong"), (book.faults[WORN].name, "suspect")]
    assert tree.below[0].share == pytest.approx(0.6)


def test_what_was_ruled_out_is_shown_as_that(book: Book) -> None:
    """It was suspect by the symptoms alone and is not any more."""
    tree = drawn(book, (0.9, 0.05, 0.001), (0.3, 0.3, 0.4))
    assert (book.faults[WORN].name, "proved") in told(tree)


def test_what_never_was_suspect_is_a_number(book: Book) -> None:
    """One line for all of them."""
    tree = drawn(book, (0.6, 0.4, 0.001), (0.6, 0.4, 0.001))
    assert (tree.quiet, [name for name, _ in told(tree)]) == (1, ["Guard fails"])


def test_what_the_next_step_looks_at_is_marked(book: Book) -> None:
    """Also where it is hardly suspect."""
    tree = drawn(book, (0.6, 0.4, 0.001), (0.6, 0.4, 0.001), "motor-sound")
    assert [below.name for below in tree.below if below.next] == [book.faults[WORN].name]


def test_what_must_hold_together_is_at_most_as_likely_as_the_least_of_it(book: Book) -> None:
    """Not the sum of both."""
    tree = FaultTree(book, Gates(book), {STUCK: 0.6, WORN: 0.1}, {})
    assert tree.branch("both", set()).share == pytest.approx(0.1)
