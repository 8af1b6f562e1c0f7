"""The chains as strips: what lies on a stretch, how it stands, which chain is shown first."""

from __future__ import annotations

import pytest

from faulttree.book import read_texts
from faulttree.book.model import Book
from faulttree.chances import in_words, minutes_in_words
from faulttree.dialogue.where import chains, strips
from faulttree.graph.gates import Gates
from tests.support.small_family import FAMILY, shared_texts

CHAINS = """
chains:
  feed:
    name: Feed
    elements:
      - {faults: [guard-switch.stuck], tap: guard, name: the guard}
      - {faults: [guard-switch.lead-chafed], tap: lead, name: the lead}
  motor-circuit:
    name: Motor circuit
    starts_at: feed@lead
    elements:
      - {faults: [motor.brushes-worn], tap: brushes, name: the brushes}
"""
FAULTS = ("guard-switch.stuck", "guard-switch.lead-chafed", "motor.brushes-worn")


@pytest.fixture(scope="module")
def book() -> Book:
    reading = read_texts({**shared_texts(), "made-up/all.yaml": FAMILY + CHAINS}, "made-up")
    assert reading.book is not None, reading.problems
    return reading.book


def told(book: Book, now: tuple[float, float, float], first: tuple[float, float, float]) -> dict[str, list[str]]:
    found = strips(book, Gates(book), dict(zip(FAULTS, now, strict=True)), dict(zip(FAULTS, first, strict=True)))
    return {strip.name: [f"{part.tap} {part.stands}" for part in strip.stretches] for strip in found}


def test_chains_are_found_with_their_taps_in_order(book: Book) -> None:
    """From the source on."""
    assert chains(book) == {"feed": ["feed@guard", "feed@lead"], "motor-circuit": ["motor-circuit@brushes"]}


def test_each_stretch_has_what_lies_on_it_alone(book: Book) -> None:
    """A chain that starts at another's tap shows that one before it; what is on it is counted once."""
    (circuit, feed) = strips(book, Gates(book), dict(zip(FAULTS, (0.1, 0.15, 0.7), strict=True)), {})
    assert [(part.tap, pytest.approx(part.share)) for part in circuit.stretches] == [
        ("guard", 0.1), ("lead", 0.15), ("brushes", 0.7),
    ]  # fmt: skip
    assert [part.tap for part in feed.stretches] == ["guard", "lead"]


@pytest.mark.parametrize(
    ("now", "first", "stands"),
    [
        (0.95, 0.3, "found"), (0.5, 0.3, "strong"), (0.2, 0.3, "suspect"), (0.05, 0.3, "little"),
        (0.005, 0.3, "proved"), (0.005, 0.006, "open"), (0.015, 0.03, "open"),
    ],
)  # fmt: skip
def test_a_stretch_stands_by_what_lies_on_it(book: Book, now: float, first: float, stands: str) -> None:
    """Proved good is only what was once suspect and is no more."""
    assert told(book, (now, 0.2, 0.0), (first, 0.2, 0.0))["Feed"][0] == f"guard {stands}"


def test_a_chain_on_which_nothing_lies_is_not_shown(book: Book) -> None:
    """Less than one in ten on all of it."""
    assert told(book, (0.02, 0.02, 0.02), (0.3, 0.3, 0.3)) == {}


def test_the_tap_that_the_next_step_looks_at_is_marked() -> None:
    """And its chain stands first, though more lies on another."""
    from tests.jobs.run import shipped_book

    shipped = shipped_book()
    now = {"gear-selector.common-open": 0.12, "warning-horn.dead": 0.8}
    first, second = strips(shipped, Gates(shipped), now, {}, "volts-at-selector-common")[:2]
    assert [part.tap for part in first.stretches if part.next] == ["selector common"]
    assert not any(part.next for part in second.stretches)


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (1.0, "as good as certain"), (0.95, "about 19 in 20"), (0.94, "about 9 in 10"), (0.6, "about 6 in 10"),
        (0.13, "about 1 in 10"), (0.1, "about 1 in 10"), (0.05, "about 1 in 20"), (0.01, "about 1 in 100"),
        (0.001, "hardly"), (0.0, "hardly"),
    ],
)  # fmt: skip
def test_chances_in_words(probability: float, words: str) -> None:
    """In ten where it is one in ten or more, else one in so many."""
    assert in_words(probability) == words


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0.4, "0 min"), (59.4, "59 min"), (60, "1 h"), (94, "1 h 35"), (119, "2 h"), (144, "2 h 20"), (600, "10 h")],
)
def test_minutes_in_words(minutes: float, words: str) -> None:
    """To the minute below an hour, then to five and ten."""
    assert minutes_in_words(minutes) == words
