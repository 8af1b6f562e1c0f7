"""What an overlay adds to the lists of an entry."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from faulttree.book import BookReading, read_texts
from faulttree.book.model import Book

Reader = Callable[..., BookReading]


def _book(reading: BookReading) -> Book:
    assert [str(p) for p in reading.problems] == []
    assert reading.book is not None
    return reading.book


def test_an_amendment_adds_to_lists(read_with: Reader) -> None:
    """Behind what they hold, deeper down too, each thing once; a new result stands before the one shown otherwise."""
    reading = read_with(
        """
symptoms:
  no-light: {amends: true, adds: {says: [all dark, no light]}}
  no-up: {amends: true, adds: {when: {any_of: [lamp.dark]}, pilot_advice: [Leave it]}}
checks:
  look-at-bus:
    amends: true
    adds: {outcomes: {cracked: {label: Cracked, when: bus-gone}}, needs: [panel-out], how: [Slowly.]}
""",
        overlay=True,
    )
    book = _book(reading)
    assert book.symptoms["no-light"].says[-2:] == ("nothing lit", "all dark")
    assert book.symptoms["no-up"].pilot_advice == ("Leave it",)
    assert "lamp.dark" in book.events[book.symptoms["no-up"].when].of
    look = book.checks["look-at-bus"]
    assert (look.needs, look.how) == (("master-on", "panel-out"), ("Slowly.",))
    assert [outcome.id for outcome in look.outcomes] == ["burnt", "cracked", "good"]


@pytest.mark.parametrize(
    ("amended", "said"),
    [
        ("adds: {name: x}", ":2:38: `name` of check `look-at-bus` holds no list to add to; leave it out of `adds`"),
        ("adds: {needs: panel-out}", ":2:38: what is added to `needs` is no list; write `[…]`"),
        ("adds: [needs]", ":2:31: `adds` names lists of the entry; write `adds: {says: […]}`"),
        ("adds: {needs: []}, needs: [master-on]", ":2:38: `needs` is replaced and added to in one amendment"),
        ("adds: {near: [bus]}", ":2:38: an overlay may not say anew which parts a look comes near"),
        ("adds: {needs: [on-jack]}", ":2:46: there is no condition `on-jack`; did you mean `on-jacks`?"),
    ],
)
def test_what_cannot_be_added_is_told_at_its_place(read_with: Reader, amended: str, said: str) -> None:
    """In the overlay."""
    text = f"checks:\n  look-at-bus: {{amends: true, {amended}}}\n"
    first = read_with(text, overlay=True).problems[0]
    assert str(first).startswith(f"overlay/demo/more.yaml{said}")


def test_two_overlays_add_to_one_list(sound: Mapping[str, str]) -> None:
    """Both hold."""
    text = "symptoms:\n  no-up: {amends: true, adds: {says: [%s words]}}\n"
    texts = {f"{who}/demo/a.yaml": text % who for who in "ab"}
    assert _book(read_texts({**sound, **texts}, "demo")).symptoms["no-up"].says[-2:] == ("a words", "b words")
