"""The history of closed cases, and its page."""

from __future__ import annotations

import re

import pytest

from faulttree.workshop.finds import Alone, Find, find_in
from faulttree.workshop.history import History, look_back
from faulttree.workshop.pictures import Family, as_html
from tests.support.closed_cases import closed, entries, found
from tests.support.small_family import small_book

STUCK, WORN = "guard-switch.stuck", "motor.brushes-worn"


def history(stuck: int, worn: int, minutes: float = 10.0) -> History:
    """Of so many cases of either."""
    book = small_book()
    cases = [*found(book, STUCK, stuck), *found(book, WORN, worn)]
    cases += [closed(book, *entries(WORN), name="timed", minutes=minutes)]
    finds = [find_in(case, Alone(book)) for case in cases]
    return look_back(cases, [find for find in finds if isinstance(find, Find)])


def test_causes_are_counted_by_symptom_beside_what_the_book_expects() -> None:
    """Nine stuck and one worn of ten, where the book expects 3.75 of each (own arithmetic)."""
    rows = {row.fault: row for row in history(9, 0).causes["stays-down"]}
    assert (rows[STUCK].found, rows[WORN].found) == (9, 1)
    assert rows[STUCK].expected == pytest.approx(3.75, abs=0.02)


def test_minutes_spent_are_those_between_the_entries() -> None:
    """Six entries, five steps of twenty minutes; told were those of the whole job."""
    (time,) = [t for t in history(0, 0, 20.0).minutes if t.case == "timed"]
    assert time.spent == 100.0
    assert 0.0 < time.told < time.told_80


def test_calibration_sets_what_was_said_against_what_was() -> None:
    """Each case says three things, of which one was so; what was said adds up to about as much."""
    bins = history(3, 2).calibration
    count = sum(b.count for b in bins)
    assert count == 18
    assert sum(b.was * b.count for b in bins) == pytest.approx(6.0)


def test_the_page_has_a_picture_of_each_and_fetches_nothing() -> None:
    """Causes, minutes, calibration; what is typed is never markup."""
    page = as_html([Family(small_book(), {STUCK: "<b>Switch & co"}, 6, 6, history(3, 2))])
    assert page.count("<svg") == 3
    assert "<b>Switch" not in page
    assert "&lt;b&gt;Switch &amp; co" in page
    assert re.findall(r"(?:src|href)=", page) == []


def test_a_page_of_no_cases_says_so() -> None:
    """No picture of nothing."""
    page = as_html([Family(small_book(), {}, 0, 0, look_back([], []))])
    assert "<svg" not in page
    assert "No cause was found yet" in page
