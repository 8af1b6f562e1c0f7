"""Which parts' cautions a look shows: those of all that it looks at, or of what it says that it comes near."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice.cautions import in_order, of_action, of_check
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


def test_a_question_shows_no_cautions_of_parts(book: Book) -> None:
    """No hand comes near."""
    asked = replace(book.checks["motor-sound"], kind="ask")
    assert set(of_check(book, Gates(book), asked, (), ())) == set(asked.cautions)


def test_cautions_stand_by_their_level_each_once(book: Book) -> None:
    """WARNINGs first, then CAUTIONs, then NOTEs; within a level as they came."""
    said = book.cautions[OF_MOTOR]
    levels = {"n": "NOTE", "c": "CAUTION", "w": "WARNING", "v": "WARNING"}
    book = replace(book, cautions={name: replace(said, id=name, level=level) for name, level in levels.items()})
    assert in_order(book, ["n", "w", "c", "v", "w"]) == ("w", "v", "c", "n")


def test_a_repair_shows_all_that_it_touches(book: Book) -> None:
    """Its own cautions, those of its parts, of what is set up for it and of the symptom reported."""
    said = book.cautions[OF_MOTOR]
    own = ("own", "of-jacks", "of-symptom")
    cautions = {**book.cautions, **{name: replace(said, id=name) for name in own}}
    jacks = replace(book.conditions["on-jacks"], cautions=("of-jacks",))
    squawk = replace(book.symptoms["stays-down"], cautions=("of-symptom",))
    book = replace(
        book, cautions=cautions, conditions={**book.conditions, "on-jacks": jacks},
        symptoms={**book.symptoms, "stays-down": squawk},
    )  # fmt: skip
    brushes = replace(book.actions["replace-brushes"], cautions=("own",))
    assert set(of_action(book, brushes, ("on-jacks",), ("stays-down",))) == {*own, OF_MOTOR}
    assert set(of_action(book, brushes, (), ())) == {"own", OF_MOTOR}
    look = replace(book.checks["motor-sound"], cautions=("own",))
    assert set(of_check(book, Gates(book), look, ("on-jacks",), ("stays-down",))) == {*own, OF_MOTOR}
