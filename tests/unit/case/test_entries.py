"""Which entries of a log stand, which one an undo takes back, and what a case is gone on with."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree.case import CaseEntry
from faulttree.case.entries import last_undoable, opening_of, standing_entries, unconfirmed
from faulttree.errors import BadCase

OPENED = ("opened", {"family": "made-up", "fitted": ["a"], "version": "1", "digest": "d", "overlays": []})
CHANGED = ("knowledge", {"version": "2", "digest": "e", "overlays": ["o"], "unconfirmed": [2, 3]})


def log(*told: tuple[str, dict[str, Any]]) -> list[CaseEntry]:
    return [CaseEntry(i, "", "m", kind, data) for i, (kind, data) in enumerate(told, 1)]


def note(text: str) -> tuple[str, dict[str, Any]]:
    return "note", {"text": text}


def test_an_undo_takes_back_the_latest_that_still_stands() -> None:
    """Not one that was taken back before, nor what only says how the hangar stands."""
    entries = log(OPENED, note("a"), note("b"), ("set-up", {"condition": "on-jacks"}), ("undone", {"entry": 3}))
    last = last_undoable(entries)
    assert last is not None
    assert last.number == 2


def test_where_nothing_can_be_taken_back_there_is_none() -> None:
    """A case that was only opened."""
    assert last_undoable(log(OPENED)) is None


@pytest.mark.parametrize("kind", ["undone", "confirmed"])
def test_an_answer_waits_until_it_is_confirmed_or_taken_back(kind: str) -> None:
    """Then it waits no more, and the others still do."""
    entries = log(OPENED, note("a"), note("b"), CHANGED, (kind, {"entry": 3, "counts": True}))
    assert unconfirmed(entries[:4]) == {2, 3}
    assert unconfirmed(entries) == {2}


def test_what_stands_leaves_out_what_waits_and_what_only_corrects() -> None:
    """The correcting entry itself says nothing of the aircraft."""
    entries = log(OPENED, note("a"), note("b"), CHANGED, ("confirmed", {"entry": 3, "counts": True}))
    assert [e.number for e in standing_entries(entries)] == [1, 3, 4]


def test_a_case_goes_on_with_the_knowledge_and_profile_seen_last() -> None:
    """What neither names stays as it was opened."""
    profile = {"fitted": ["b"], "aircraft": {"name": "QQ-ELM"}}
    again = ("knowledge", {"version": "3", "digest": "f", "overlays": [], "unconfirmed": [], "profile": profile})
    assert opening_of("c", log(OPENED, CHANGED)) == {
        "family": "made-up", "fitted": ["a"], "version": "2", "digest": "e", "overlays": ["o"],
        "overlay_digests": [],
    }  # fmt: skip
    assert opening_of("c", log(OPENED, CHANGED, again)) == {
        "family": "made-up", "version": "3", "digest": "f", "overlays": [], "overlay_digests": [], **profile,
    }  # fmt: skip


@pytest.mark.parametrize("entries", [[], log(note("a"))], ids=["empty", "begins otherwise"])
def test_a_log_that_was_never_opened_is_no_case(entries: list[CaseEntry]) -> None:
    """It is refused by its name."""
    with pytest.raises(BadCase, match="case c has no beginning"):
        opening_of("c", entries)
