"""The database itself: commits that are on the disk, a file for its owner alone, tables made once."""

from __future__ import annotations

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import text

from faulttree.store import Cases, Database, NotThere


def test_a_commit_is_on_the_disk(database: Database, url: str) -> None:
    """SQLite's strictest setting (3, EXTRA: https://www.sqlite.org/pragma.html), and PostgreSQL's usual one."""
    ask, wanted = ("PRAGMA synchronous", 3) if url.startswith("sqlite") else ("SHOW synchronous_commit", "on")
    with database.writing() as connection:
        assert connection.execute(text(ask)).scalar() == wanted


def test_the_file_is_its_owner_s_alone(tmp_path: Path) -> None:
    """Mode 0600, and 0700 for a folder that had to be made."""
    file = tmp_path / "data" / "cases.sqlite"
    database = Database(file)
    with database.writing():
        pass
    database.close()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(file.parent.stat().st_mode) == 0o700


def test_reading_makes_no_file(tmp_path: Path) -> None:
    """Where nothing was ever written there is nothing to read, and nothing is made."""
    file = tmp_path / "cases.sqlite"
    with pytest.raises(NotThere), Database(file).reading():
        pass
    assert not file.exists()


def test_two_that_begin_at_once_make_one_set_of_tables(url: str) -> None:
    """Neither fails, and both cases are there."""

    def begin(who: str) -> None:
        database = Database(url)
        Cases(database).open(who, {"family": "made-up", "fitted": [], "job": who, "digest": "d"})
        database.close()

    with ThreadPoolExecutor(2) as workers:
        list(workers.map(begin, ("one", "two")))
    database = Database(url)
    assert Cases(database).cards()[1] == 2
    database.close()
