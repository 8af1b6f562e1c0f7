"""Where the database is not where it is said to be, or the way there is lost: one message, and nothing is lost."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, event, text

from faulttree.store import Cases, Database, NotSaved, StoreError, verify_cases
from faulttree_cli import places
from tests.support.hostile import command, one_message
from tests.support.mechanic import folders

OPENED = {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0"}
SQUAWK = ("squawk", {"text": "wheels wont come up"})
NOTE = ("note", {"text": "wiring loom looks old"})

# -- a server that goes away ---------------------------------------------------------------------------

HANG_UP = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND datname IS NOT NULL"


def hang_up(url: str) -> None:
    """The server ends all connections but this one."""
    with closing(Database(url)) as database, database.writing() as connection:
        connection.execute(text(HANG_UP))


def test_a_connection_lost_between_answers_is_made_anew(server: str) -> None:
    """The laptop slept, or the server was started anew: the next answer is saved without a word."""
    with closing(Database(server)) as database:
        cases = Cases(database)
        name, _ = cases.open("mechanic", OPENED)
        hang_up(server)
        cases.append(name, 1, "mechanic", [SQUAWK])
        assert [entry.kind for entry in cases.read(name)] == ["opened", "squawk"]


def test_a_connection_lost_within_an_answer_saves_nothing_of_it(server: str) -> None:
    """NotSaved names the database; both entries are missing, and given again they are taken."""
    with closing(Database(server)) as database:
        cases = Cases(database)
        name, _ = cases.open("mechanic", OPENED)

        def lost(connection: Connection, *_: object) -> None:
            event.remove(Engine, "after_execute", lost)
            hang_up(server)

        event.listen(Engine, "after_execute", lost)
        with pytest.raises(NotSaved, match="not saved"):
            cases.append(name, 1, "mechanic", [SQUAWK, NOTE])
        assert [entry.kind for entry in cases.read(name)] == ["opened"]
        cases.append(name, 1, "mechanic", [SQUAWK, NOTE])
        assert [verdict.wrong for verdict in verify_cases(cases, [name])] == [""]


# -- FAULTTREE_DATABASE --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "url",
    [
        "nonsense",
        "https://somewhere/x",
        "mysql://u@h/x",
        "postgresql://u@127.0.0.1:1/x",
        "postgresql://u@/x?host=/no/such/folder",
        "postgresql://u@h:port/x",
        "postgresql+psycopg2://u@127.0.0.1:1/x",
        "sqlite:////",
    ],
)
def test_a_database_that_cannot_be_is_one_message(more: Path, monkeypatch: pytest.MonkeyPatch, url: str) -> None:
    """Nonsense, a kind or a driver that is not known, and a server that is not there."""
    monkeypatch.setenv("FAULTTREE_DATABASE", url)
    one_message(command("cases"))


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///", "sqlite:///:memory:"])
def test_memory_is_no_database(url: str) -> None:
    """What forgets everything at the end of the program is refused before anything is typed."""
    with pytest.raises(StoreError):
        Database(url)


@pytest.mark.parametrize(
    "scheme",
    [
        "postgresql",
        "postgres",
        "mysql",
        "nonsense",
        "postgresql+other",
    ],
)
def test_no_message_shows_a_password(more: Path, monkeypatch: pytest.MonkeyPatch, scheme: str) -> None:
    """Whatever is wrong with the address, what stands in it for nobody else's eyes is not shown."""
    monkeypatch.setenv("FAULTTREE_DATABASE", f"{scheme}://u:hush-hush@127.0.0.1:1/x")
    status, printed, said = command("cases")
    assert status == 2
    assert "hush-hush" not in printed + said


def test_no_message_shows_a_password_given_as_an_option(more: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The server's own way to write an address allows it there: https://www.postgresql.org/docs/current/libpq-connect.html"""
    monkeypatch.setenv("FAULTTREE_DATABASE", "postgresql://u@127.0.0.1:1/x?password=hush-hush")
    status, printed, said = command("cases")
    assert status == 2
    assert "hush-hush" not in printed + said


@pytest.mark.parametrize(
    "folder",
    [
        "a b",
        "a%20b",
        "a#b",
        "\u00e4",
        "a?b",
    ],
)
def test_the_cases_are_in_the_folder_named(tmp_path: Path, folder: str) -> None:
    """Whatever signs the name of the folder has, the file lies there."""
    with folders(tmp_path, cases=tmp_path / folder), closing(Database(places.database())) as database:
        Cases(database).open("mechanic", OPENED)
    assert (tmp_path / folder / "cases.sqlite").exists()
