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
from faulttree.book.plain import SHAPE, from_plain, to_plain
from faulttree.store import schema
from faulttree.store.database import Database, NotThere


class Books:
    """Books by their digest and the options of the aircraft."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def keep(self, book: Book) -> None:
        """Keep a book, unless it is kept. Raises NotSaved."""
        name = _name(book.digest, [f"{group}={option}" for group, option in book.fitted.items()])
        try:
            with self.database.writing() as connection:
                known = connection.execute(select(schema.books.c.name).where(schema.books.c.name == name)).first()
                if known is None:
                    content = zlib.compress(json.dumps(to_plain(book), separators=(",", ":")).encode())
                    row = {"name": name, "digest": book.digest, "shape": SHAPE, "content": content}
                    connection.execute(insert(schema.books).values(**row))
        except IntegrityError:
            return  # another laptop was first

    def find(self, opened: Mapping[str, Any]) -> Book | None:
        """The book that a case was worked with last, None where it is not here or of another version's shape."""
        name = _name(opened["digest"], opened["fitted"])
        try:
            with self.database.reading() as connection:
                row = connection.execute(
                    select(schema.books.c.content).where(schema.books.c.name == name, schema.books.c.shape == SHAPE)
                ).first()
        except NotThere:
            return None
        if row is None:
            return None
        try:
            return from_plain(json.loads(zlib.decompress(row.content)))
        except (zlib.error, ValueError, TypeError, IndexError, KeyError):
            return None


def _name(digest: str, fitted: list[str]) -> str:
    """A book of another shape is another book: both are kept."""
    return hashlib.sha256(json.dumps([digest, sorted(fitted), SHAPE]).encode()).hexdigest()
