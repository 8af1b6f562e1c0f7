"""Which lesson is recommended against what went wrong."""

from __future__ import annotations

import pytest

from faulttree.book.drills import DrillAsked, Lesson
from faulttree.drill.debrief import lesson_against


def lesson(name: str, *helps: str) -> Lesson:
    return Lesson(name, name, "A rule.", ("A text.",), "Watch.", DrillAsked("made-up"), helps)


@pytest.mark.parametrize(("seed", "wanted"), [(2, "first"), (3, "other")])
def test_one_that_is_good_against_it_before_all_else(seed: int, wanted: str) -> None:
    """Of several another in each drill."""
    lessons = [lesson("beside", "slow", "wasted"), lesson("first", "wasted"), lesson("other", "wasted", "slow")]
    assert lesson_against("wasted", lessons, seed) == wanted


def test_one_that_is_good_against_it_too_where_there_is_no_other() -> None:
    assert lesson_against("wasted", [lesson("beside", "slow", "wasted")], 1) == "beside"


def test_none_where_there_is_none() -> None:
    assert lesson_against("unsafe", [lesson("beside", "slow")], 1) is None
