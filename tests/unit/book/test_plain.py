"""A book as plain data and back."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from typing import get_type_hints

import pytest

from faulttree.book import BookReading, model, plain
from faulttree.book.plain import from_plain, to_plain


@pytest.mark.parametrize("fitted", [(), ("two-lamps", "no-horn")])
def test_a_book_comes_back_the_same(read_with: Callable[..., BookReading], fitted: tuple[str, ...]) -> None:
    """Through JSON and back the book is equal, tuples, records and all."""
    book = read_with(fitted=fitted).book
    assert book is not None
    again = from_plain(json.loads(json.dumps(to_plain(book))))
    assert (again == book, repr(again) == repr(book)) == (True, True)


def test_every_record_of_the_model_has_a_plain_form() -> None:
    """No dataclass of the model is forgotten."""
    records = {value for value in vars(model).values() if dataclasses.is_dataclass(value)}
    assert records == set(plain._RECORDS)


def test_tuples_come_back_as_tuples() -> None:
    """Every field stated as a tuple is a tuple again, whatever the field; so nothing in a book can be changed."""
    matrix = ((0.9, 0.1), (0.1, 0.9))
    reading = model.Reading("q", "V", 0.1, "l", "a", "b")
    outcomes = (model.Outcome("a", "A", "e", 0.9), model.Outcome("b", "B", None, 0.9))
    check = model.Check("c", "C", "look", "now", outcomes, 0.1, 3.0, matrix=matrix, reading=reading, how=("x",))
    plainly = json.loads(json.dumps(plain._plain(check)))
    assert plain._DECODERS["Check"](plainly) == check


def test_the_shape_follows_the_model() -> None:
    """The shape that the cache is keyed by covers every field with its type."""
    assert all(get_type_hints(record) for record in plain._RECORDS)
    assert len(plain.SHAPE) == 64


@pytest.mark.parametrize("damaged", [[], [1], {}, None, "x", [[]] * 23])
def test_damaged_data_raise_and_give_no_book(damaged: object) -> None:
    """Data that are not a book's raise one of the errors that the docstring names."""
    with pytest.raises((TypeError, ValueError, IndexError, KeyError, AttributeError)):
        from_plain(damaged)  # type: ignore[arg-type]  # wrong on purpose
