"""What several of these tests stand on: folders of their own, one PostgreSQL where it is installed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support import postgres
from tests.support.mechanic import folders


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The URL of a database that is there as long as the tests run."""
    reason = postgres.missing()
    if reason:
        pytest.skip(reason)
    with postgres.server() as url:
        yield url


@pytest.fixture
def more(tmp_path: Path) -> Iterator[Path]:
    """The command's folders are the test's own; the one with the family of the tests."""
    with folders(tmp_path) as more:
        yield more
