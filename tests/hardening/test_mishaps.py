"""What happens to the best hangar: the file gone or held, a clock that is wrong, data of an earlier version."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from faulttree.case import minutes_spent
from faulttree.store import Cases, Database, NotSaved, Profiles, StoreError, verify_cases
from faulttree.store import database as store_database
from tests.support.hostile import command, one_message
from tests.support.mechanic import Following, Mechanic, Shown, work

OPENED = {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0"}
NOTE = ("note", {"text": "wiring loom looks old"})
EARLIER = Path(__file__).parent / "data" / "cases-1.sql"


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    """One that is in use, with one case in it."""
    with closing(Database(tmp_path / "cases.sqlite")) as found:
        Cases(found).open("mechanic", OPENED)
        yield found


# -- the file ------------------------------------------------------------------------------------------


def test_a_file_gone_in_the_middle_is_told_and_none_is_put_in_its_place(database: Database, tmp_path: Path) -> None:
    """An empty one would hide it. Put back, the same answer is taken."""
    cases, file = Cases(database), tmp_path / "cases.sqlite"
    ((card,), _) = cases.cards()
    file.rename(tmp_path / "elsewhere")
    with pytest.raises(NotSaved, match="gone from its place; put it back"):
        cases.append(card.name, 1, "mechanic", [NOTE])
    with pytest.raises(StoreError, match="gone from its place"):
        cases.read(card.name)
    assert not file.exists()
    (tmp_path / "elsewhere").rename(file)
    cases.append(card.name, 1, "mechanic", [NOTE])
    assert [entry.kind for entry in cases.read(card.name)] == ["opened", "note"]


def test_a_copy_put_in_its_place_is_gone_on_with(database: Database, tmp_path: Path) -> None:
    """The first answer is told as not saved, for the file was another; given anew it is taken."""
    cases, file = Cases(database), tmp_path / "cases.sqlite"
    ((card,), _) = cases.cards()
    copy = file.read_bytes()
    file.unlink()
    file.write_bytes(copy)
    with pytest.raises(NotSaved, match="another file lies in its place"):
        cases.append(card.name, 1, "mechanic", [NOTE])
    cases.append(card.name, 1, "mechanic", [NOTE])
    assert [verdict.wrong for verdict in verify_cases(cases, [card.name])] == [""]


def test_the_loop_tells_that_the_file_is_gone_and_goes_on_when_it_is_back(more: Path, tmp_path: Path) -> None:
    """One message, the same question again, and the case is closed in the end with nothing lost."""
    file, away, mechanic = tmp_path / "cases" / "cases.sqlite", tmp_path / "away", Mechanic()

    def ask(shown: Shown) -> str:
        if shown.topic == "next" and not told:
            told.append(shown)
            file.rename(away)
        elif away.exists():
            told.append(shown)
            away.rename(file)
        return mechanic.answer(shown)

    told: list[Shown] = []
    terminal = Following(ask)
    work(more, terminal)
    assert "\n".join(terminal.told).count("gone from its place; put it back and go on") == 1
    with closing(Database(file)) as found:
        ((card,), _) = Cases(found).cards()
        assert (card.state, [v.wrong for v in verify_cases(Cases(found), [card.name])]) == ("closed", [""])


def test_a_file_that_another_program_holds_is_told(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the wait for it; nothing was written, and once it is let go the same answer is taken."""
    monkeypatch.setattr(store_database, "WAIT_SECONDS", 0)
    database.close()
    cases = Cases(database)
    with closing(sqlite3.connect(tmp_path / "cases.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(StoreError, match="another program has held it"):
            cases.cards()
        other.execute("ROLLBACK")
        ((card,), _) = cases.cards()
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotSaved, match="another program has held it"):
            cases.append(card.name, 1, "mechanic", [NOTE])
        other.execute("ROLLBACK")
    cases.append(card.name, 1, "mechanic", [NOTE])
    assert cases.read(card.name)[1:] != []


def test_a_paper_that_finds_no_room_is_one_message(more: Path, tmp_path: Path) -> None:
    """The case is as it was."""
    work(more, Following(Mechanic().answer))
    with closing(Database(tmp_path / "cases" / "cases.sqlite")) as found:
        name = Cases(found).cards()[0][0].name
    one_message(command("record", name, "--as", "markdown", "--out", "/dev/full"), "/dev/full", "No space left")


# -- the clock -----------------------------------------------------------------------------------------


def test_a_clock_that_is_set_back_or_to_another_zone_mixes_nothing_up(tmp_path: Path) -> None:
    """Entries keep their order, the log holds, cases keep their names apart, and no time is counted below nothing."""
    winter, far = timezone(timedelta(hours=1)), timezone(timedelta(hours=-11))
    noon = datetime(2026, 3, 29, 12, tzinfo=winter)
    moments = iter([noon, noon, noon, *(noon.replace(year=year) for year in (2018, 2031, 2026)), noon.astimezone(far),
                    noon.replace(year=2018), noon.replace(year=2018), noon, noon])  # fmt: skip
    with closing(Database(tmp_path / "cases.sqlite")) as found:
        cases = Cases(found, lambda: next(moments))
        name, _ = cases.open("mechanic", OPENED)
        for number in range(1, 6):
            cases.append(name, number, "mechanic", [("note", {"text": str(number)})])
        other, _ = cases.open("mechanic", OPENED)
        again, _ = cases.open("mechanic", OPENED)
        log = cases.read(name)
        assert [entry.data["text"] for entry in log[1:]] == ["1", "2", "3", "4", "5"]
        assert [verdict.wrong for verdict in verify_cases(cases, [name, other, again])] == ["", "", ""]
        assert (len({name, other, again}), minutes_spent(log) >= 0) == (3, True)
        assert cases.cards()[1] == 3


# -- an earlier version --------------------------------------------------------------------------------


@pytest.fixture
def earlier(more: Path, tmp_path: Path) -> Path:
    """The database that version 0.1.0 wrote, in the place where the command looks."""
    (tmp_path / "cases").mkdir()
    with closing(sqlite3.connect(tmp_path / "cases" / "cases.sqlite")) as found:
        found.executescript(EARLIER.read_text("utf-8"))
    return more


def test_what_an_earlier_version_wrote_is_there(earlier: Path, tmp_path: Path) -> None:
    """Both cases verify to the digest that was last, and the profile is there."""
    with closing(Database(tmp_path / "cases" / "cases.sqlite")) as found:
        verdicts = verify_cases(Cases(found), ["2026-01-05-1", "2026-01-05-2"])
        profile = Profiles(found).find("qq-elm")
    assert [(v.wrong, v.digest[:12]) for v in verdicts] == [("", "d2532c27fe17"), ("", "962ccfa228cc")]
    assert profile is not None
    assert profile.limits["bus-voltage-under-load"]["value"] == 23.0


@pytest.mark.parametrize("paper", ["record", "handover", "entry"])
def test_papers_are_made_of_what_an_earlier_version_wrote(earlier: Path, tmp_path: Path, paper: str) -> None:
    """With the knowledge of then, which lies beside it; no family of that name is in any folder now."""
    out = tmp_path / "paper.html"
    assert command(paper, "2026-01-05-1", "--out", str(out))[0] == 0
    assert "QQ-ELM" in out.read_text("utf-8")


def test_a_case_of_an_earlier_version_is_gone_on_with(earlier: Path, tmp_path: Path) -> None:
    """From how the aircraft stands to the close; not one of its entries is another afterwards."""
    file = tmp_path / "cases" / "cases.sqlite"
    with closing(Database(file)) as found:
        before = Cases(found).read("2026-01-05-2")
    work(earlier, Following(Mechanic().answer), "2026-01-05-2")
    with closing(Database(file)) as found:
        after = Cases(found).read("2026-01-05-2")
    assert (after[: len(before)], after[-1].kind) == (before, "closed")
