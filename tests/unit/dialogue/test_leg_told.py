"""A leg that the squawk names is shown beside the answer that names it: a hint, no answer."""

from __future__ import annotations

import pytest

from faulttree.dialogue.work import prompt
from tests.unit.dialogue.at_the_board import board_with


@pytest.mark.parametrize(
    ("squawk", "hinted"),
    [
        ("right green never came on", ["", 'the squawk says "right"', "", ""]),
        ("no green for the nose", ["", "", 'the squawk says "nose"', ""]),
        ("left and right green dark", ["", "", "", ""]),
        ("one green dark", ["", "", "", ""]),
        ("the rightmost lamp stayed dark", ["", "", "", ""]),
    ],
)
def test_the_leg_named_is_shown_with_its_answer(squawk: str, hinted: list[str]) -> None:
    """With one leg named, and answers by legs."""
    book, board = board_with(["Left", "Right", "Nose", "All of them"])
    assert [choice.note for choice in prompt(book, board, squawk).choices] == hinted


def test_a_question_that_does_not_go_by_legs_has_no_hint() -> None:
    """ "Right back" is no leg."""
    book, board = board_with(["Silent right at the stop", "It sounded"])
    assert [choice.note for choice in prompt(book, board, "right green dark").choices] == ["", ""]
