"""Cases on disk: nothing is lost, nothing is changed, and damage is named with its line."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from faulttree.errors import BadCase
from faulttree.store import Store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "cases")


def test_what_is_appended_is_read_back(store: Store) -> None:
    """Entries come back in order with their data."""
    first = store.append("a", 1, "mechanic", "squawk", {"text": "won't come up — Ω"})
    second = store.append("a", 2, "mechanic", "note", {})
    assert store.read("a") == [first, second]


def test_a_case_is_readable_by_its_owner_alone(store: Store) -> None:
    """The file is made with mode 0600."""
    store.append("a", 1, "mechanic", "note", {})
    assert stat.S_IMODE((store.folder / "a.case.jsonl").stat().st_mode) == 0o600


def test_a_line_cut_off_in_writing_is_left_out_and_overwritten(store: Store) -> None:
    """After a kill in the middle of a line the whole entries stand, and the next append begins a line of its own."""
    store.append("a", 1, "mechanic", "note", {})
    path = store.folder / "a.case.jsonl"
    path.write_bytes(path.read_bytes() + b'{"number": 2, "at"')
    assert len(store.read("a")) == 1
    store.append("a", 2, "mechanic", "note", {"text": "again"})
    assert [entry.number for entry in store.read("a")] == [1, 2]


def test_damage_is_named_with_its_line(store: Store) -> None:
    """A line that is no entry is a BadCase with file and line."""
    store.append("a", 1, "mechanic", "note", {})
    path = store.folder / "a.case.jsonl"
    path.write_text("nonsense\n" + path.read_text())
    with pytest.raises(BadCase, match=r"a\.case\.jsonl:1: "):
        store.read("a")


def test_a_missing_entry_is_noticed(store: Store) -> None:
    """Entries are numbered without a gap."""
    for number in (1, 2, 3):
        store.append("a", number, "mechanic", "note", {})
    path = store.folder / "a.case.jsonl"
    lines = path.read_text().splitlines(keepends=True)
    path.write_text(lines[0] + lines[2])
    with pytest.raises(BadCase, match="entry 3 stands where 2 should"):
        store.read("a")


@pytest.mark.parametrize("name", ["../a", "", ".hidden", "a/b"])
def test_a_name_cannot_leave_the_folder(store: Store, name: str) -> None:
    """A case name is a plain file name."""
    with pytest.raises(BadCase):
        store.read(name)


def test_a_second_writer_is_told(store: Store) -> None:
    """An entry whose number does not follow the last one there is refused, and nothing is written."""
    store.append("a", 1, "one", "note", {})
    with pytest.raises(BadCase, match="open elsewhere"):
        store.append("a", 1, "two", "note", {})
    assert len(store.read("a")) == 1
