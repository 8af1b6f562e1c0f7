"""Every test of the store runs on SQLite and on a real PostgreSQL, where that is installed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from faulttree.store import Database
from tests.support import postgres


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The URL of a PostgreSQL that runs as long as the tests do."""
    reason = postgres.missing()
    if reason:
        pytest.skip(reason)
    with postgres.server() as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty database."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'data' / 'cases.sqlite'}"
    found = str(request.getfixturevalue("server"))
    emptied = Database(found)
    with emptied.writing() as connection:
        for table in ("entries", "cases", "books", "aircraft", "drills"):
            connection.execute(text(f"TRUNCATE {table} CASCADE"))
    emptied.close()
    return found


@pytest.fixture
def database(url: str) -> Iterator[Database]:
    """An empty database, closed at the end."""
    found = Database(url)
    yield found
    found.close()
