"""Which parts' cautions a look shows: those of all that it looks at, or of what it says that it comes near."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice.cautions import of_check
from faulttree.book.model import Book
from faulttree.graph.gates import Gates
from tests.support.small_family import small_book

OF_MOTOR, OF_SWITCH = "hot-motor", "doors-move-fast"


@pytest.fixture
def book() -> Book:
    """The small family with a caution on two of its parts; the look hears the motor and looks at it alone."""
    small = small_book()
    said = next(iter(small.cautions.values()))
    parts = {"motor": OF_MOTOR, "guard-switch": OF_SWITCH}
    components = {name: replace(part, cautions=(parts[name],)) for name, part in small.components.items()}
    cautions = {**small.cautions, **{name: replace(said, id=name) for name in parts.values()}}
    look = replace(small.checks["motor-sound"], kind="look")
    return replace(small, components=components, cautions=cautions, checks={**small.checks, look.id: look})


def shown(book: Book, *near: str) -> set[str]:
    """Cautions of the look, those of its own and of the symptom left out."""
    look = book.checks["motor-sound"]
    return set(of_check(book, Gates(book), replace(look, near=near), (), ())) - set(look.cautions)


def test_a_look_shows_the_cautions_of_all_parts_that_it_looks_at(book: Book) -> None:
    assert shown(book) == {OF_MOTOR}


def test_a_look_that_names_what_it_comes_near_shows_theirs_alone(book: Book) -> None:
    assert shown(book, "guard-switch") == {OF_SWITCH}
