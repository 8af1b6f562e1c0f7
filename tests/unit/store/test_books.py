"""Knowledge kept with cases is found again, also by a later version of the model."""

from __future__ import annotations

import json
import zlib
from typing import Any

import pytest
from sqlalchemy import insert

from faulttree.book.model import Book
from faulttree.book.plain import LAYOUT, to_plain
from faulttree.store import Books, Database, schema
from tests.support.small_family import small_book

Layout = dict[str, list[str]]


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def opened(book: Book) -> dict[str, Any]:
    return {"digest": book.digest, "fitted": [f"{group}={option}" for group, option in book.fitted.items()]}


def kept_by(database: Database, book: Book, layout: Layout, plain: Any, shape: str) -> None:
    """A row as a version with this layout wrote it."""
    content = zlib.compress(json.dumps({"layout": layout, "book": plain}).encode())
    row = {"name": shape, "digest": book.digest, "shape": shape, "content": content}
    with database.writing() as connection:
        connection.execute(insert(schema.books).values(**row))


def older(book: Book, field: str, instead: str | None = None) -> tuple[Layout, Any]:
    """The book as a version wrote it whose checks had no such field, or had another one in its place."""
    place, checks = LAYOUT["Check"].index(field), LAYOUT["Book"].index("checks")
    layout = {**LAYOUT, "Check": [name if name != field else instead or "" for name in LAYOUT["Check"]]}
    plain = to_plain(book)
    if instead is None:
        layout["Check"].pop(place)
        for row in plain[checks].values():
            row.pop(place)
    return layout, plain


def test_a_book_is_found_as_it_was_kept(database: Database, book: Book) -> None:
    """Whole and equal."""
    books = Books(database)
    books.keep(book)
    assert books.find(opened(book)) == book


def test_a_book_of_an_earlier_version_is_found(database: Database, book: Book) -> None:
    """A field that came since has its default, which is what it was when nobody could say otherwise."""
    kept_by(database, book, *older(book, "only_with"), "earlier")
    assert Books(database).find(opened(book)) == book


def test_a_field_that_went_is_left_out(database: Database, book: Book) -> None:
    """What a later version no longer knows does not keep it from reading the rest."""
    kept_by(database, book, *older(book, "only_with", "gone_since"), "earlier")
    assert Books(database).find(opened(book)) == book


def test_a_book_without_what_it_cannot_do_without_is_not_found(database: Database, book: Book) -> None:
    """No default is made up for a field that never had one."""
    kept_by(database, book, *older(book, "minutes"), "earlier")
    assert Books(database).find(opened(book)) is None


def test_a_book_with_other_options_is_another(database: Database, book: Book) -> None:
    """The digest alone does not tell them apart."""
    books = Books(database)
    books.keep(book)
    assert books.find({**opened(book), "fitted": ["gear-lights=one-lamp"]}) is None
