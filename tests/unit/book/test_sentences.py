"""Which texts say the same."""

from __future__ import annotations

import pytest

from faulttree.book.sentences import gone, same


@pytest.mark.parametrize(
    ("one", "other"), [("Gap > 2 mm", "Gap < 2 mm"), ("Not below -5", "Not below 5"), ("At 90 %", "At 90")]
)
def test_a_sign_that_turns_what_is_said_is_no_matter_of_style(one: str, other: str) -> None:
    """More or less than, below nothing, per cent."""
    assert not same(one, other)
    assert gone(one, other) == [one]


@pytest.mark.parametrize(
    ("one", "other"),
    [("Pull-off, then go.", "pull off then GO!"), ("Two  words", "two words"), ("2-3 turns", "2 - 3 turns")],
)
def test_stops_dashes_and_capitals_are(one: str, other: str) -> None:
    """The same words in the same order."""
    assert same(one, other)
    assert gone(one, other) == []
