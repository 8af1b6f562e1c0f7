"""Where the disk is full, forbidden or damaged: one clear message, what was saved stays, and then work goes on.

A full disk is SQLite's own answer (SQLITE_FULL, https://www.sqlite.org/rescode.html#full), brought about by the most
pages a database may have (https://www.sqlite.org/pragma.html#pragma_max_page_count) and by a real disk of a few KiB.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from faulttree.dialogue import NewEntry
from faulttree.store import Cases, Database, NotSaved, StoreError, verify_cases
from faulttree.store.aircraft import Profile
from faulttree_cli import opening, places, settings, worker
from faulttree_cli.desk import Desk
from tests.support.hostile import command, may_mount, no_room, one_message, open_folder, small_disk, unprivileged
from tests.support.mechanic import Following, Mechanic, Shown, folders, words, work
from tests.support.small_family import small_book

OPENED = {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0"}
SQUAWK = ("squawk", {"text": "wheels wont come up"})
LONG = ("note", {"text": "x" * 20_000})
"""Takes pages of its own, whatever room there is within those that the database has."""

FULL = "the disk is full; make room and go on"


@pytest.fixture
def file(tmp_path: Path, more: Path) -> Path:
    """The database of the command, with one case."""
    begun(f"sqlite:///{tmp_path / 'cases' / 'cases.sqlite'}")
    return tmp_path / "cases" / "cases.sqlite"


def begun(url: str) -> str:
    with closing(Database(url)) as database:
        cases = Cases(database)
        name, _ = cases.open("mechanic", OPENED)
        cases.append(name, 1, "mechanic", [SQUAWK, ("symptom", {"symptom": "stays-down", "present": True})])
    return name


def kept(file: Path) -> list[str]:
    """The kinds of the entries of the one case, which verifies."""
    with closing(Database(f"sqlite:///{file}")) as database:
        cases = Cases(database)
        ((card,), _) = cases.cards()
        assert [verdict.wrong for verdict in verify_cases(cases, [card.name])] == [""]
        return [entry.kind for entry in cases.read(card.name)]


# -- full ----------------------------------------------------------------------------------------------


def test_a_full_disk_takes_nothing_and_keeps_what_it_has(file: Path) -> None:
    """NotSaved says that the disk is full; the case is as it was, and takes the same entry once there is room."""
    with no_room() as room, closing(Database(f"sqlite:///{file}")) as database:
        cases = Cases(database)
        name = cases.cards()[0][0].name
        with pytest.raises(NotSaved, match=FULL):
            cases.append(name, 3, "mechanic", [LONG])
        assert kept(file) == ["opened", "squawk", "symptom"]
        room.make()
        cases.append(name, 3, "mechanic", [LONG])
    assert kept(file) == ["opened", "squawk", "symptom", "note"]


def test_a_database_that_cannot_be_begun_for_a_full_disk_says_so(tmp_path: Path, more: Path) -> None:
    """Where not even the tables find room the message is the same, and the next time they do."""
    file = tmp_path / "cases" / "cases.sqlite"
    with no_room() as room:
        with closing(Database(f"sqlite:///{file}")) as database, pytest.raises(StoreError, match=FULL):
            Cases(database).open("mechanic", OPENED)
        room.make()
        with closing(Database(f"sqlite:///{file}")) as database:
            Cases(database).open("mechanic", OPENED)
    assert kept(file) == ["opened"]


def test_on_a_full_disk_the_loop_tells_and_asks_again(tmp_path: Path, more: Path) -> None:
    """A note that finds no room is told on the screen, which asks anew; after room is made the case is closed."""
    mechanic, trip = Mechanic(), iter(["a", "x" * 20_000])
    with no_room() as room:
        room.make()

        def ask(shown: Shown) -> str:
            told = "\n".join(terminal.told)
            if FULL in told:
                room.make()
                asked_after.append(shown)
            elif shown.topic in ("next", "note"):
                room.pages = 1
                return next(trip)
            return mechanic.answer(shown)

        asked_after: list[Shown] = []
        terminal = Following(ask)
        work(more, terminal)
    assert "\n".join(terminal.told).count(FULL) == 1
    assert [shown.topic for shown in asked_after[:2]] == ["", "next"]
    kinds = kept(tmp_path / "cases" / "cases.sqlite")
    assert (kinds[-1], "note" in kinds) == ("closed", False)


def test_a_case_that_cannot_be_begun_for_a_full_disk_is_one_message(file: Path, more: Path) -> None:
    """`work` ends with the reason, and no half of a case is left."""
    with no_room(), pytest.raises(NotSaved, match=FULL):
        worker.run(words(more), Following(Mechanic().answer))
    assert kept(file) == ["opened", "squawk", "symptom"]


def test_a_limit_that_finds_no_room_in_the_profile_is_told(more: Path, file: Path) -> None:
    """The limit is in the case; that it could not be kept for other cases is said, and work goes on."""
    limit = {"limit": "brush-length", "value": 9.0, "unit": "mm", "reference": "x" * 20_000, "keep": True}
    with closing(Desk()) as desk:
        desk.profiles.keep(Profile("QQ-ELM", "made-up"), "lead")
        name, first = desk.cases.open("mechanic", OPENED)
        loop = worker.Worker(desk, opening.Opened(name, small_book(), [first]), Following(str), settings.read())

        def no_more(*_: object) -> None:
            raise NotSaved(f"{file}: not saved: {FULL}")

        with patch.object(desk.profiles, "keep", no_more):
            assert loop._append([NewEntry("limit", limit)])
        assert FULL in loop.say


@pytest.fixture(scope="session")
def mounts() -> None:
    """Skips where there can be no disk of the tests' own."""
    if not may_mount():
        pytest.skip("this user may not mount a disk")


def fill(cases: Cases, name: str) -> int:
    """Write notes behind the first entry until no more is taken; returns how many entries there are."""
    for written in range(1, 1000):
        try:
            cases.append(name, written, "mechanic", [LONG])
        except NotSaved as problem:
            if FULL not in str(problem):
                raise
            return written
    raise AssertionError("the disk takes everything")


@pytest.mark.usefixtures("mounts")
def test_a_real_disk_that_fills_up_keeps_what_it_has(tmp_path: Path) -> None:
    """Notes are written until the disk is full; all before stand, and on a larger one work goes on."""
    with small_disk(tmp_path / "disk", 256) as disk, closing(Database(f"sqlite:///{disk.at}/cases.sqlite")) as database:
        cases = Cases(database)
        name, _ = cases.open("mechanic", OPENED)
        written = fill(cases, name)
        assert written > 2
        assert kept(disk.at / "cases.sqlite") == ["opened", *["note"] * (written - 1)]
        disk.make_room()
        cases.append(name, written, "mechanic", [LONG])
        assert len(kept(disk.at / "cases.sqlite")) == written + 1


@pytest.mark.usefixtures("mounts")
def test_a_real_disk_without_one_byte_is_one_message(tmp_path: Path) -> None:
    """Neither a write nor a first database is possible; reading what is there still is."""
    with small_disk(tmp_path / "disk", 256) as disk, folders(tmp_path, cases=disk.at):
        name = begun(places.database())
        disk.fill()
        one_message(command("cases", "archive", name), FULL)
        assert command("cases")[0] == 0
        with closing(Database(f"sqlite:///{disk.at}/other.sqlite")) as other, pytest.raises(StoreError, match=FULL):
            Cases(other).open("mechanic", OPENED)


# -- forbidden -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("folder", "rights"),
    [(0o555, 0o666), (0o777, 0o444), (0o555, 0o444)],
    ids=["folder", "file", "both"],
)
def test_what_may_not_be_written_is_one_message(folder: int, rights: int) -> None:
    """A folder or file with rights to read alone: nothing is written, the message says so, and lists still work."""
    with open_folder() as at, folders(at):
        name = begun(places.database())
        (at / "cases" / "cases.sqlite").chmod(rights)
        (at / "cases").chmod(folder)
        one_message(
            unprivileged(lambda: command("cases", "archive", name)), "not saved", "may not be opened or written"
        )
        status, printed, _ = unprivileged(lambda: command("cases"))
        assert (status, name in printed) == (0, True)


def test_a_folder_in_which_nothing_can_be_made_is_one_message() -> None:
    """The first case finds no place: the message names the file, and what to do."""
    with open_folder() as at, folders(at, cases=at / "cases" / "deeper"):
        (at / "cases").mkdir()
        (at / "cases").chmod(0o555)

        def begin() -> tuple[int, str, str]:
            with closing(Database(places.database())) as database:
                try:
                    Cases(database).open("mechanic", OPENED)
                except NotSaved as problem:
                    return 2, "", f"{problem}\n"
            return 0, "", ""

        one_message(unprivileged(begin), "cannot be made", str(at / "cases"), "FAULTTREE_DATABASE")


def test_a_file_that_may_not_be_read_is_one_message() -> None:
    """Another user's database is named as one that cannot be used."""
    with open_folder() as at, folders(at):
        begun(places.database())
        (at / "cases" / "cases.sqlite").chmod(0o600)
        (at / "cases").chmod(0o755)
        if os.geteuid() != 0:
            pytest.skip("another user's file is made by root alone")
        one_message(unprivileged(lambda: command("cases")), str(at / "cases" / "cases.sqlite"))


# -- no database, or damaged ---------------------------------------------------------------------------


def damaged(content: bytes, how: str) -> bytes:
    page = int.from_bytes(content[16:18], "big")  # https://www.sqlite.org/fileformat2.html#page_size
    return {
        "text": b"These are the cases.\n" * 500,
        "zeros": bytes(len(content)),
        "head alone": content[:16],
        "cut": content[: len(content) // 2],
        "page short": content[:-page],
        "first page": os.urandom(page) + content[page:],
        "all but the first": content[:page] + b"\xff" * (len(content) - page),
    }[how]


@pytest.mark.parametrize("how", ["text", "zeros", "head alone", "cut", "page short", "first page", "all but the first"])
@pytest.mark.parametrize("line", [["cases"], ["cases", "verify"], ["cases", "archive", "x"], ["aircraft", "--json"]])
def test_what_is_no_database_is_one_message(file: Path, how: str, line: list[str]) -> None:
    """Text, a file cut off, a page gone: the message says that it is damaged, and the file is left as it is."""
    content = damaged(file.read_bytes(), how)
    file.write_bytes(content)
    one_message(command(*line), str(file), "not a database, or damaged; put back a copy")
    assert file.read_bytes() == content


def changed(file: Path, statement: str, *values: Any) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute(statement, values)


UNREADABLE = "UPDATE entries SET data = CAST(x'1b5b324aff' AS TEXT) WHERE number = 2"
"""An escape sequence that clears the screen, and a byte that UTF-8 does not know."""


@pytest.mark.parametrize("line", [["cases", "verify"], ["cases", "archive", "NAME"]])
def test_bytes_that_are_no_text_do_not_act_on_the_terminal(file: Path, line: list[str]) -> None:
    """Damaged text is told of in one message, in which nothing of it acts."""
    name = command("cases")[1].splitlines()[1].split()[0]
    changed(file, UNREADABLE)
    told = command(*[word.replace("NAME", name) for word in line])
    assert "Traceback" not in told[2]
    assert "failed inside" not in told[2]
    assert "\x1b" not in told[1] + told[2]


def test_one_unreadable_case_does_not_keep_the_others_from_being_checked(file: Path) -> None:
    """`cases verify` says which is damaged, and checks the rest."""
    damaged_name = command("cases")[1].splitlines()[1].split()[0]
    begun(places.database())
    changed(file, UNREADABLE + " AND case_name = ?", damaged_name)
    status, printed, _ = command("cases", "verify")
    assert (status, f"{damaged_name}:" in printed, "2 checked, 1 not as written." in printed) == (1, True, True)


def test_a_table_whose_words_are_damaged_is_one_message(file: Path) -> None:
    """The first page, which says what tables there are, has bytes that are no text."""
    content = file.read_bytes()
    place = content.index(b"CREATE TABLE about")
    file.write_bytes(content[:place] + b"CREATE T\xa2BLE about" + content[place + 18 :])
    one_message(command("cases"), str(file), "damaged")


def test_tables_of_a_later_version_are_one_message(file: Path) -> None:
    """What a later version has written is neither read nor changed."""
    changed(file, "UPDATE about SET version = 2")
    content = file.read_bytes()
    one_message(command("cases"), "another version", "tables 2")
    one_message(command("cases", "archive", "x"), "another version", "tables 2")
    assert file.read_bytes() == content
