"""Where a job stands after a list of answers and actions, without a log."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice import situation_after
from faulttree.belief import Did, Found, Reported, plain, unsure
from faulttree.book.model import Book
from tests.support.small_family import small_book

PROOFS = ["cycle-test"]
REPORTED, REPAIR = Reported("stays-down"), Did("mend-lead")


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def test_before_any_repair_nothing_is_owed(book: Book) -> None:
    """What was done is done, and shown by its likeliest outcome."""
    now = situation_after(book, [REPORTED, unsure(book, "switch-continuity", "jumps")], PROOFS)
    assert (now.acted, now.owed, now.done) == (False, (), {"switch-continuity"})
    assert now.ever == now.done
    assert now.shown == (("switch-continuity", "jumps"),)


def test_a_repair_begins_anew_and_owes_its_proof(book: Book) -> None:
    """What was ever done and last shown is still known."""
    now = situation_after(book, [REPORTED, plain(book, "switch-continuity", "open"), REPAIR], PROOFS)
    assert (now.acted, now.owed, now.done) == (True, ("cycle-test",), set())
    assert (now.ever, now.shown) == ({"switch-continuity"}, (("switch-continuity", "open"),))


def test_what_was_done_after_the_repair_is_owed_no_more(book: Book) -> None:
    """The rest of what is due still is."""
    mended = replace(book.actions["mend-lead"], follow_up=("motor-sound", "cycle-test"))
    book = replace(book, actions={**book.actions, "mend-lead": mended})
    now = situation_after(book, [REPORTED, REPAIR, plain(book, "motor-sound", "silent")], PROOFS)
    assert now.owed == ("cycle-test",)


def test_while_something_seen_is_not_repaired_nothing_is_owed(book: Book) -> None:
    """Once it is, the proof is."""
    seen = Found("guard-switch.stuck")
    now = situation_after(book, [REPORTED, seen, REPAIR], PROOFS)
    assert (now.found, now.owed) == ({"guard-switch.stuck"}, ())
    after = situation_after(book, [REPORTED, seen, REPAIR, Did("replace-guard-switch")], PROOFS)
    assert (after.found, after.owed) == (frozenset(), ("cycle-test",))


def test_what_is_at_hand_and_stands_is_handed_on(book: Book) -> None:
    """As it was given."""
    stands, lacks = frozenset({"on-jacks"}), frozenset({"multimeter"})
    now = situation_after(book, [REPORTED], PROOFS, standing=stands, people=1, lacking=lacks)
    assert (now.standing, now.people, now.lacking) == (stands, 1, lacks)
