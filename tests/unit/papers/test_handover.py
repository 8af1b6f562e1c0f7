"""The handover sheet: the aircraft right now."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree import papers
from faulttree.case import add_up
from faulttree.dialogue import Dialogue
from faulttree.papers.shrink import likely_fit, versions
from tests.support import worked


@pytest.fixture(scope="module")
def sheet() -> dict[str, Any]:
    book, entries = worked.book(), worked.half_worked()
    suggestions = Dialogue(book).advise(add_up(book, entries)).suggestions
    return papers.handover(book, "2031-03-14-1", entries, suggestions)


def test_it_says_what_stands_and_how_to_put_it_back(sheet: dict[str, Any]) -> None:
    """In the words of the book, the risky ones marked."""
    jacks = worked.book().conditions["on-jacks"]
    told = next(one for one in sheet["now"]["standing"] if one["name"] == jacks.name)
    assert (told["restore"], told["hazard"]) == (jacks.restore, True)
    assert not sheet["now"]["as_it_flies"]


def test_the_step_in_hand_and_how_far_it_has_come(sheet: dict[str, Any]) -> None:
    """Cautions read, set-up not finished."""
    assert sheet["now"]["step"]["name"] == worked.book().checks["wiggle-ground-safety-lead"].name
    assert "cautions read" in sheet["now"]["step"]["where"]


def test_what_others_rest_on_is_not_to_be_touched(sheet: dict[str, Any]) -> None:
    """Each standing condition that another implies, and the warnings of what stands."""
    told = " ".join(sheet["do_not_touch"])
    assert f"{worked.book().conditions['secured'].name}: leave it so" in told
    assert worked.book().cautions["breaker-is-the-safety"].text in told


def test_what_comes_next_is_the_advice(sheet: dict[str, Any]) -> None:
    """At most three, with people and equipment by name."""
    book = worked.book()
    best = Dialogue(book).advise(add_up(book, worked.half_worked())).suggestions[0]
    assert sheet["next"][0]["name"] == best.name
    assert len(sheet["next"]) <= 3


def test_nothing_standing_is_said_as_such() -> None:
    """A closed case leaves the aircraft as it flies."""
    sheet = papers.handover(worked.book(), "x", worked.closed())
    assert sheet["now"] == {"standing": [], "as_it_flies": True, "step": None}
    assert sheet["do_not_touch"] == []


def test_who_hands_over_is_left_to_them(sheet: dict[str, Any]) -> None:
    """Names are written by hand."""
    assert (sheet["handed_by"], sheet["taken_by"]) == ("", "")


def test_causes_are_left_out_where_a_repair_in_own_words_was_proved() -> None:
    """The book cannot know what it removed: a sentence says so in their place."""
    book = worked.book()
    work: list[worked.New] = [*worked.opened(), ("did-other", {"text": "renewed the lead"})]
    owed = add_up(book, worked.log(*work)).owed(book)
    passed = [("answer", {"check": c, "outcome": book.checks[c].outcomes[-1].id, "sure": True}) for c in owed]
    sheet = papers.handover(book, "2031-03-14-1", worked.log(*work, *passed))
    assert sheet["top_causes"] == []
    assert "not known to the book" in papers.as_markdown(sheet)


def test_of_a_closed_case_it_tells_how_it_was_closed() -> None:
    """Cause, repair and proof, and nothing that was likely once or would be next."""
    book = worked.book()
    sheet = papers.handover(book, "2031-03-14-1", worked.closed())
    told = sheet["settled"]
    assert (sheet["top_causes"], sheet["next"]) == ([], [])
    wanted = (book.faults[worked.CHAFED].name, book.actions[worked.MEND].name, book.checks["retraction-test"].name)
    assert [words in told for words in wanted] == [True] * 3
    assert "How it was closed" in papers.as_markdown(sheet)


def test_a_long_cause_is_whole_where_the_page_has_room(sheet: dict[str, Any]) -> None:
    """Nothing is cut short on a sheet that is not full."""
    long = "Lead chafed " + "between the guard switch and the clip at the spar " * 3
    few = {"now": sheet["now"] | {"standing": []}, "do_not_touch": []}
    sheet = sheet | few | {"top_causes": [{"name": long.strip(), "probability": 0.4}]}
    shown, _ = likely_fit(versions(sheet))
    assert (shown["top_causes"][0]["name"], shown["shortened"]) == (long.strip(), False)
