"""What was found speaks against conditions until another check shows otherwise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice.barring import bars
from faulttree.book.model import Book, Check
from tests.support.books import check, make_book


def barring(made: Check, *conditions: str, until: tuple[str, ...] = ()) -> Check:
    """The check whose first outcome bars these conditions."""
    first, *rest = made.outcomes
    return replace(made, outcomes=(replace(first, bars=conditions, until=until), *rest))


@pytest.fixture
def book() -> Book:
    return make_book(
        checks=[
            barring(check("leg", loose="a"), "power", "jacks", until=("brace", "pull")),
            barring(check("brace", cracked="b"), "jacks"),
            check("pull", gives="c"),
        ]
    )


LOOSE, CRACKED, SOUND = ("leg", "loose"), ("brace", "cracked"), ("brace", "fine")
LEG = (("power", "jacks"), "brace")
"""What the loose leg bars, and the first check that can lift it."""


@pytest.mark.parametrize(
    ("shown", "found"),
    [
        ([], []),
        ([("leg", "fine")], []),
        ([LOOSE], [LEG]),
        ([CRACKED], [(("jacks",), "brace")]),
        ([LOOSE, SOUND], []),
        ([LOOSE, ("pull", "gives")], []),
        ([LOOSE, CRACKED], [(("jacks",), "brace"), LEG]),
        ([LOOSE, CRACKED, ("pull", "fine")], [(("jacks",), "brace")]),
    ],
    ids=["nothing shown", "sound", "loose", "itself", "lifted", "lifted by the other", "borne out", "one lifts it"],
)
def test_what_is_barred(book: Book, shown: list[tuple[str, str]], found: list[object]) -> None:
    """A finding holds while no check that can lift it was done, or all of those bar the same."""
    assert bars(book, shown) == found
