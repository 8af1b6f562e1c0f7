"""The knowledge that cases were worked with, kept whole: a record can be made a year later, and a case gone on with
can say what has changed."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Mapping
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.exc import IntegrityError

from faulttree.book.model import Book
from faulttree.book.plain import LAYOUT, SHAPE, from_layout, from_plain, to_plain
from faulttree.store import schema
from faulttree.store.database import Database, NotThere


class Books:
    """Books by their digest and the options of the aircraft."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def keep(self, book: Book) -> None:
        """Keep a book, unless it is kept. Raises NotSaved."""
        name = _name(book.digest, _fitted(book))
        try:
            with self.database.writing() as connection:
                known = connection.execute(select(schema.books.c.name).where(schema.books.c.name == name)).first()
                if known is None:
                    whole = {"layout": LAYOUT, "book": to_plain(book)}
                    content = zlib.compress(json.dumps(whole, separators=(",", ":")).encode())
                    row = {"name": name, "digest": book.digest, "shape": SHAPE, "content": content}
                    connection.execute(insert(schema.books).values(**row))
        except IntegrityError:
            return  # another laptop was first

    def find(self, opened: Mapping[str, Any]) -> Book | None:
        """The book that a case was worked with last, None where it is not here or cannot be read any more.

        One that an earlier version kept is read by the names of its fields; what came since has its default.
        """
        columns = schema.books.c
        try:
            with self.database.reading() as connection:
                rows = connection.execute(
                    select(columns.content, columns.shape).where(columns.digest == opened["digest"])
                ).all()
        except NotThere:
            return None
        # That of this version's shape first: a book that was worked with again is kept in both.
        for row in sorted(rows, key=lambda row: str(row.shape) != SHAPE):
            book = _read(row.content, row.shape)
            if book is not None and _fitted(book) == sorted(opened["fitted"]):
                return book
        return None


def _read(content: bytes, shape: str) -> Book | None:
    try:
        kept = json.loads(zlib.decompress(content))
        if isinstance(kept, dict):
            return from_layout(kept["book"], kept["layout"])
        return from_plain(kept) if shape == SHAPE else None  # kept before the names of the fields were
    except (zlib.error, ValueError, TypeError, IndexError, KeyError, AttributeError):
        return None


def _fitted(book: Book) -> list[str]:
    return sorted(f"{group}={option}" for group, option in book.fitted.items())


def _name(digest: str, fitted: list[str]) -> str:
    """A book of another shape is another book: both are kept."""
    return hashlib.sha256(json.dumps([digest, sorted(fitted), SHAPE]).encode()).hexdigest()
