"""Hypothesis strategies for cases, and every figure of a belief by its name, for the tests of belief."""

from __future__ import annotations

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from faulttree.belief import Belief, Evidence
from faulttree.book.model import Book
from tests.support.random_books import random_book, random_case
from tests.support.share import many

Case = tuple[Book, Evidence]
CLOSE = 1e-9

law = settings(
    deadline=None, derandomize=True, max_examples=many(10, 200), suppress_health_check=[HealthCheck.too_slow]
)
"""For tests that must hold on any case: the same cases in every run, more of them with ``FAULTTREE_SHARE=all``."""


@st.composite
def cases(draw: st.DrawFn, faults: int = 5, steps: int = 5, hours: tuple[float | None, ...] = (None, 10.0)) -> Case:
    """A small book with every feature, and a case on it."""
    rng = draw(st.randoms(use_true_random=False))
    book = random_book(rng, faults, 0.03)
    return book, random_case(rng, book, steps, hours)


def figures(book: Book, belief: Belief) -> dict[str, float]:
    """Every probability that belief gives, by what it is of."""
    out = {"unlisted": belief.unlisted}
    out.update({f"component {name}": p for name, p in belief.components.items()})
    for fault in book.faults:
        out[f"{fault} stands"] = belief.faults[fault].probability
        out[f"{fault} comes and goes"] = belief.faults[fault].comes_and_goes
        out[f"{fault} was there"] = belief.as_it_was[fault]
    for check in book.checks.values():
        for outcome, p in zip(check.outcomes, belief.outcomes(check.id), strict=True):
            out[f"{check.id} would show {outcome.id}"] = p
    return out


def summary(book: Book, belief: Belief) -> dict[str, float]:
    """All probabilities, and the two figures in bits."""
    return {**figures(book, belief), "conflict": belief.conflict_bits, "evidence": belief.log2_evidence}
