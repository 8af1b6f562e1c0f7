"""What was found speaks against conditions until another check shows otherwise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice.barring import bars, wanted_again
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
        ([SOUND, LOOSE], [LEG]),
        ([LOOSE, CRACKED], [(("jacks",), "brace"), LEG]),
        ([LOOSE, CRACKED, ("pull", "fine")], [(("jacks",), "brace")]),
    ],
    ids=[
        "nothing shown",
        "sound",
        "loose",
        "itself",
        "lifted",
        "lifted by the other",
        "looked at before",
        "borne out",
        "one lifts it",
    ],
)
def test_what_is_barred(book: Book, shown: list[tuple[str, str]], found: list[object]) -> None:
    """A finding holds while no check that can lift it was done, or all of those bar the same."""
    assert bars(book, shown) == found


def test_a_finding_wants_looked_at_again_what_alone_lifts_it(book: Book) -> None:
    """A sound leg wants nothing; a brace that is cracked is looked at itself."""
    assert [wanted_again(book, *shown) for shown in (LOOSE, ("leg", "fine"), CRACKED)] == [("brace", "pull"), (), ()]
