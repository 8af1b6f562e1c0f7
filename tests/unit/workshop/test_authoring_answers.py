"""Typed answers: both ways of writing a probability, counted rates, minutes; what has two meanings is refused."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.errors import BadAnswer
from faulttree.workshop.authoring import answers

below_one = partial(answers.probability, below_one=True)


@pytest.mark.parametrize(
    ("read", "typed", "value"),
    [
        (answers.probability, "95 %", 0.95),
        (answers.probability, "95%", 0.95),
        (answers.probability, " 0.95 ", 0.95),
        (answers.probability, ".95", 0.95),
        (answers.probability, "95 percent", 0.95),
        (answers.probability, "100 %", 1.0),
        (answers.probability, "1.0", 1.0),
        (answers.probability, "0", 0.0),
        (answers.probability, "0.5 %", 0.005),
        (answers.rate, "0.04", 0.04),
        (answers.rate, "2 in 5000", 0.4),
        (answers.rate, "2 in 5000 h", 0.4),
        (answers.minutes, "20", 20.0),
        (answers.minutes, "20 min", 20.0),
        (answers.minutes, "1 h 20", 80.0),
        (answers.minutes, "2 h", 120.0),
    ],
)
def test_what_is_understood(read: Callable[[str], float], typed: str, value: float) -> None:
    """As a shop writes it."""
    assert read(typed) == pytest.approx(value)


@pytest.mark.parametrize(
    ("read", "typed", "right"),
    [
        (answers.probability, "1", "write 100 % or 1 %"),
        (answers.probability, "95", "write 95 % or 0.95"),
        (answers.probability, "0,95", "write a point, not a comma"),
        (answers.probability, "often", "write it as 95 % or 0.95"),
        (answers.probability, "120 %", "out of range"),
        (answers.probability, "-1", "write it as 95 % or 0.95"),
        (answers.probability, "nan", "write it as 95 % or 0.95"),
        (below_one, "100 %", "below 100 %"),
        (answers.rate, "0", "above 0"),
        (answers.rate, "2 in 0", "such as 2 in 5000"),
        (answers.rate, "5 %", "such as 0.04"),
        (answers.rate, "1e5", "such as 0.04"),
        (answers.minutes, "0", "more than 0"),
        (answers.minutes, "soon", "such as 20 or 1 h 20"),
        (partial(answers.count, most=5), "6", "from 1 to 5"),
        (partial(answers.count, most=5), "\u0663", "from 1 to 5"),
        (answers.identifier, "Horn Relay", "horn-relay"),
        (answers.identifier, "", "like-this"),
        (answers.identifier, "a--b", "single hyphens"),
        (answers.text, " ", "some words"),
        (answers.text, "a\x1b[2Jb", "cannot be read"),
        (answers.text, "x" * 301, "put it shorter"),
    ],
)
def test_what_is_refused_says_what_is_right(read: Callable[[str], object], typed: str, right: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(BadAnswer, match=right.replace("(", r"\(")):
        read(typed)


@given(st.text(max_size=80))
def test_no_answer_brings_it_down(typed: str) -> None:
    """Whatever is typed, it is a value or a BadAnswer; a suggested id is an id."""
    for read in (answers.probability, answers.rate, answers.minutes, answers.text, answers.identifier):
        with contextlib.suppress(BadAnswer):
            read(typed)
    suggested = answers.slug(typed)
    assert not suggested or answers.identifier(suggested) == suggested
