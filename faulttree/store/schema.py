"""The tables. Rows of all but ``cases`` are only ever added. ``cases`` holds one card a case, which is worked out from
its entries and kept with them in one transaction, so that lists need not read the logs."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, ForeignKey, Index, Integer, LargeBinary, MetaData, String, Table, Text

VERSION = 1
"""Raise it, and say how older ones become it, when a table changes."""

metadata = MetaData()

about = Table(
    "about",
    metadata,
    Column("one", Integer, primary_key=True),
    Column("version", Integer, nullable=False),
)

cases = Table(
    "cases",
    metadata,
    Column("name", String(120), primary_key=True),
    Column("uid", String(64), nullable=False, unique=True),
    Column("family", String(120), nullable=False),
    Column("job", Text, nullable=False),
    Column("squawk", Text, nullable=False),
    Column("symptoms", Text, nullable=False),
    Column("state", String(20), nullable=False),
    Column("archived", Boolean, nullable=False),
    Column("words", Text, nullable=False),
    Column("opened_at", String(40), nullable=False),
    Column("last_at", String(40), nullable=False),
    Column("entries", Integer, nullable=False),
    Column("digest", String(64), nullable=False),
)
Index("cases_by_time", cases.c.archived, cases.c.last_at)

entries = Table(
    "entries",
    metadata,
    Column("case_name", String(120), ForeignKey("cases.name"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("at", String(40), nullable=False),
    Column("local", String(40), nullable=False),
    Column("who", Text, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("data", Text, nullable=False),
    Column("digest", String(64), nullable=False),
)

books = Table(
    "books",
    metadata,
    Column("name", String(64), primary_key=True),
    Column("digest", String(80), nullable=False),
    Column("shape", String(64), nullable=False),
    Column("content", LargeBinary, nullable=False),
)

aircraft = Table(
    "aircraft",
    metadata,
    Column("name", String(200), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("at", String(40), nullable=False),
    Column("who", Text, nullable=False),
    Column("data", Text, nullable=False),
)

drills = Table(
    "drills",
    metadata,
    Column("uid", String(64), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("at", String(40), nullable=False),
    Column("who", Text, nullable=False),
    Column("family", String(120), nullable=False),
    Column("data", Text, nullable=False),
)
"""Came after version 1 and changes nothing of it: a database without this table gets it with the first drill."""
