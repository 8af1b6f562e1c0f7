"""The main screen as sentences: what was heard already is not said again."""

from __future__ import annotations

from dataclasses import replace

from faulttree.dialogue import Dialogue
from faulttree.dialogue.where import Stretch, Strip
from faulttree_cli.screens import spoken
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view


def test_where_the_fault_may_lie_is_said_when_it_changed() -> None:
    """Not after every answer that leaves it as it was."""
    book = small_book()
    asked = view(Dialogue(book), state(book), "")
    assert asked.board is not None
    first, then = (
        replace(asked, board=replace(asked.board, where=(Strip("Feed", (Stretch("bus", chance, stands),)),)))
        for chance, stands in ((0.5, "strong"), (0.0, "proved"))
    )
    heard = spoken.heard_after(first, spoken.NOTHING_HEARD)
    told = [any(line.startswith("Where, Feed") for line in spoken.screen(book, each, heard)) for each in (first, then)]
    assert told == [False, True]
    assert any(line.startswith("Where, Feed") for line in spoken.screen(book, first))
