"""The logs of cases: nothing is lost, nothing is overwritten, and what was changed by other means is noticed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, update

from faulttree.case import CaseEntry
from faulttree.errors import BadCase
from faulttree.store import Cases, Database, Overtaken, Wanted, bring_in, schema, verify_cases

OPENED = {"family": "made-up", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0"}
SQUAWK = ("squawk", {"text": "Wheels won't come up"})
SYMPTOM = ("symptom", {"symptom": "will-not-retract", "present": True})


@pytest.fixture
def cases(database: Database) -> Cases:
    return Cases(database)


def begun(cases: Cases, *new: tuple[str, dict[str, Any]]) -> str:
    name, _ = cases.open("mechanic", OPENED)
    cases.append(name, 1, "mechanic", new)
    return name


def shown(entries: Sequence[CaseEntry]) -> list[tuple[int, str, dict[str, Any]]]:
    return [(e.number, e.kind, dict(e.data)) for e in entries]


def test_what_is_appended_is_read_back(cases: Cases, url: str) -> None:
    """Another connection reads the entries as they were written, digests and all."""
    name = begun(cases, SQUAWK)
    written = cases.append(name, 2, "mechanic", [SYMPTOM, ("note", {"text": "Ω — \U0001f6e9"})])
    other = Database(url)
    try:
        assert Cases(other).read(name)[2:] == written
    finally:
        other.close()


def test_an_entry_carries_utc_and_the_shop_s_clock(database: Database) -> None:
    """Both are the same moment."""
    zone = timezone(timedelta(hours=5, minutes=30))
    cases = Cases(database, lambda: datetime(2026, 3, 1, 2, 15, tzinfo=zone))
    _, entry = cases.open("mechanic", OPENED)
    assert (entry.at, entry.local) == ("2026-02-28T20:45:00+00:00", "2026-03-01T02:15:00+05:30")


def test_cases_are_named_by_the_day_and_a_number(database: Database) -> None:
    """The second case of a day has number two, whatever was opened on other days."""
    days = iter([datetime(2026, 3, 1, tzinfo=UTC)] * 2 + [datetime(2026, 3, 2, tzinfo=UTC)] * 4)
    cases = Cases(database, lambda: next(days))
    assert [cases.open("m", OPENED)[0] for _ in range(3)] == ["2026-03-01-1", "2026-03-02-1", "2026-03-02-2"]


def test_the_second_writer_is_told_what_the_first_added(cases: Cases) -> None:
    """Writing behind an entry that is not the last any more raises Overtaken with the news, and writes nothing."""
    name = begun(cases, SQUAWK)
    first = cases.append(name, 2, "day shift", [SYMPTOM])
    with pytest.raises(Overtaken, match="1 more entries by now, from day shift") as told:
        cases.append(name, 2, "night shift", [("note", {"text": "lost?"})])
    assert told.value.added == first
    assert len(cases.read(name)) == 3


def test_entries_of_one_answer_are_written_together_or_not_at_all(cases: Cases) -> None:
    """When the second of two entries cannot be written, neither is the first."""
    name = begun(cases, SQUAWK)
    with pytest.raises(TypeError):
        cases.append(name, 2, "mechanic", [SYMPTOM, ("note", {"text": object()})])
    assert len(cases.read(name)) == 2


def test_no_such_case_names_the_latest(cases: Cases) -> None:
    """The message helps to find the right name."""
    name = begun(cases, SQUAWK)
    with pytest.raises(BadCase, match=f"no case 'x'.*{name}"):
        cases.read("x")


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(st.characters(exclude_categories=()), max_size=60), st.text(st.characters(exclude_categories=())))
def test_any_text_is_kept_as_it_was_typed(cases: Cases, squawk: str, note: str) -> None:
    """Null characters, lone surrogates and all: what is read equals what was written, and the chain holds."""
    name = begun(cases, ("squawk", {"text": squawk}), ("note", {"text": note}))
    assert [e.data["text"] for e in cases.read(name)[1:]] == [squawk, note]
    assert verify_cases(cases, [name])[0].wrong == ""


# -- lists ---------------------------------------------------------------------------------------------


def test_a_list_shows_the_latest_first(cases: Cases) -> None:
    """And how many there are beyond those shown."""
    names = [begun(cases, SQUAWK) for _ in range(3)]
    cards, count = cases.cards(most=2)
    assert [card.name for card in cards] == [names[2], names[1]]
    assert count == 3


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (Wanted(), True),
        (Wanted(state="open"), True),
        (Wanted(state="closed"), False),
        (Wanted(job="qq-elm"), True),
        (Wanted(job="QQ-EL"), False),
        (Wanted(symptom="will-not-retract"), True),
        (Wanted(symptom="retract"), False),
        (Wanted(words=("COME", "wheels")), True),
        (Wanted(words=("come", "brakes")), False),
        (Wanted(words=("%",)), False),
        (Wanted(archived=True), False),
    ],
)
def test_lists_are_narrowed(cases: Cases, wanted: Wanted, found: bool) -> None:
    """By state, aircraft as a whole, symptom as a whole, and words anywhere; no sign in them is a wildcard."""
    begun(cases, SQUAWK, SYMPTOM)
    assert cases.cards(wanted)[1] == int(found)


@pytest.mark.parametrize(
    ("kinds", "state"),
    [
        ([("left-open", {"reason": "waits for a part"})], "left-open"),
        ([("left-open", {"reason": "waits"}), ("taken-up", {})], "open"),
        ([("closed", {})], "closed"),
    ],
)
def test_the_card_follows_the_log(cases: Cases, kinds: list[tuple[str, dict[str, Any]]], state: str) -> None:
    """Open, left open, taken up again, closed."""
    name = begun(cases, SQUAWK, *kinds)
    card = cases.card(name)
    assert card is not None
    assert card.state == state


def test_an_undone_symptom_is_not_listed(cases: Cases) -> None:
    """What was taken back is not found by it."""
    begun(cases, SQUAWK, SYMPTOM, ("undone", {"entry": 3}))
    assert cases.cards(Wanted(symptom="will-not-retract"))[1] == 0


def test_an_archived_case_is_in_the_other_list(cases: Cases) -> None:
    """Nothing is deleted: it is listed where it is asked for, and comes back."""
    name = begun(cases, SQUAWK, ("archived", {"archived": True}))
    assert (cases.cards()[1], cases.cards(Wanted(archived=True))[1]) == (0, 1)
    cases.append(name, 3, "lead", [("archived", {"archived": False})])
    assert cases.cards()[1] == 1


# -- whether it is as it was written -------------------------------------------------------------------


def tampered(database: Database, name: str, how: str) -> None:
    table = schema.entries
    this = (table.c.case_name == name) & (table.c.number == 3)
    with database.writing() as connection:
        match how:
            case "changed":
                connection.execute(update(table).where(this).values(data='{"text": "other"}'))
            case "who":
                connection.execute(update(table).where(this).values(who="somebody"))
            case "missing":
                connection.execute(delete(table).where(this))
            case "moved":
                for old, new in ((3, 99), (4, 3), (99, 4)):
                    connection.execute(
                        update(table).where((table.c.case_name == name) & (table.c.number == old)).values(number=new)
                    )
            case "cut off":
                connection.execute(delete(table).where((table.c.case_name == name) & (table.c.number >= 4)))
            case "no data":
                connection.execute(update(table).where(this).values(data="nonsense"))


NOTES = [("note", {"text": str(i)}) for i in range(4)]


@pytest.mark.parametrize("how", ["changed", "who", "missing", "moved", "cut off", "no data"])
def test_what_was_changed_by_other_means_is_found(cases: Cases, database: Database, how: str) -> None:
    """A changed, missing or moved entry, and a tail cut off, are named."""
    name = begun(cases, *NOTES)
    tampered(database, name, how)
    assert verify_cases(cases, [name])[0].wrong


def test_a_tail_cut_off_with_its_card_is_found_by_the_digest_of_a_record(cases: Cases, database: Database) -> None:
    """Whoever changes the card too is given away by the digest on paper alone."""
    name = begun(cases, *NOTES)
    digest = cases.read(name)[-1].digest
    tampered(database, name, "cut off")
    last = cases.read(name)[-1]
    with database.writing() as connection:
        connection.execute(update(schema.cases).values(entries=last.number, digest=last.digest))
    assert verify_cases(cases, [name])[0].wrong == ""
    assert "cut off" in verify_cases(cases, [name], digest)[0].wrong


def test_an_earlier_record_still_holds(cases: Cases) -> None:
    """The digest on a record made halfway is found in the longer log."""
    name = begun(cases, *NOTES)
    assert verify_cases(cases, [name], "sha256:" + cases.read(name)[2].digest)[0].wrong == ""


# -- from elsewhere ------------------------------------------------------------------------------------


@pytest.fixture
def elsewhere(tmp_path: Any) -> Any:
    """The cases of another laptop."""
    database = Database(f"sqlite:///{tmp_path / 'other.sqlite'}")
    yield Cases(database)
    database.close()


def test_a_case_is_taken_in_under_its_name(cases: Cases, elsewhere: Cases) -> None:
    """Entries, digests and card are as where it was worked."""
    name = begun(elsewhere, SQUAWK, SYMPTOM)
    entries = elsewhere.read(name)
    assert bring_in(cases, name, entries).name == name
    assert cases.read(name) == entries
    assert cases.cards(Wanted(symptom="will-not-retract"))[1] == 1


def test_a_name_that_is_taken_by_another_case_is_not_overwritten(cases: Cases, elsewhere: Cases) -> None:
    """Two laptops have both opened the first case of the day."""
    mine, theirs = begun(cases, SQUAWK), begun(elsewhere, SQUAWK)
    assert mine == theirs
    brought = bring_in(cases, theirs, elsewhere.read(theirs))
    assert brought.name != mine
    assert [verdict.wrong for verdict in verify_cases(cases, [mine, brought.name])] == ["", ""]


def test_a_case_taken_in_again_gains_what_was_added(cases: Cases, elsewhere: Cases) -> None:
    """Only the new entries are added."""
    name = begun(elsewhere, SQUAWK)
    bring_in(cases, name, elsewhere.read(name))
    elsewhere.append(name, 2, "mechanic", [SYMPTOM])
    assert bring_in(cases, name, elsewhere.read(name)).added == 1
    assert shown(cases.read(name)) == shown(elsewhere.read(name))


def test_a_case_worked_in_two_places_is_refused(cases: Cases, elsewhere: Cases) -> None:
    """The entry from which the two differ is named, and nothing changes."""
    name = begun(elsewhere, SQUAWK)
    bring_in(cases, name, elsewhere.read(name))
    cases.append(name, 2, "here", [SYMPTOM])
    elsewhere.append(name, 2, "there", [("note", {"text": "x"})])
    with pytest.raises(BadCase, match="from entry 3 on the two differ"):
        bring_in(cases, name, elsewhere.read(name))
    assert len(cases.read(name)) == 3


def test_a_case_that_was_changed_is_not_taken_in(cases: Cases, elsewhere: Cases) -> None:
    """A broken chain is refused."""
    name = begun(elsewhere, SQUAWK, SYMPTOM)
    entries = elsewhere.read(name)
    with pytest.raises(BadCase, match="entry 2 is missing"):
        bring_in(cases, name, [entries[0], entries[2]])
