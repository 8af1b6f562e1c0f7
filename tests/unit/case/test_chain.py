"""The chain of digests: SHA-256 over what is documented, and no change goes unnoticed."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from faulttree.case import CaseEntry, chained, holds, verify

AT, LOCAL = "2026-03-01T10:00:00+00:00", "2026-03-01T11:00:00+01:00"


def log(texts: list[str]) -> list[CaseEntry]:
    entries: list[CaseEntry] = []
    for i, text in enumerate(texts, 1):
        entry = CaseEntry(i, AT, "mechanic", "note", {"text": text}, LOCAL)
        entries.append(chained(entry, entries[-1].digest if entries else ""))
    return entries


def test_a_digest_is_what_the_description_says() -> None:
    """SHA-256 over JSON with sorted keys and no blanks, of the digest before and the entry's parts; here by hashlib."""
    first, second = log(["a", "Ω"])
    parts = [first.digest, 2, AT, LOCAL, "mechanic", "note", {"text": "Ω"}]
    text = json.dumps(parts, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert second.digest == hashlib.sha256(text.encode("utf-8")).hexdigest()


untimed = settings(deadline=None)
"""A machine that is busy with something else makes a try take as long as it likes."""

texts = st.lists(st.text(max_size=8), min_size=2, max_size=8)


@untimed
@given(texts)
def test_a_log_as_written_holds(notes: list[str]) -> None:
    """Every log that was chained entry by entry verifies."""
    assert verify(log(notes)) is None


@untimed
@given(texts, st.data())
def test_any_change_is_found_where_it_is(notes: list[str], data: st.DataObject) -> None:
    """One entry's words, name, time or kind changed: that entry is named."""
    entries = log(notes)
    place = data.draw(st.integers(0, len(entries) - 1))
    field = data.draw(st.sampled_from(["who", "at", "local", "kind"]))
    entries[place] = replace(entries[place], **{field: "another"})
    broken = verify(entries)
    assert broken is not None
    assert broken.number == place + 1


@untimed
@given(texts, st.data())
def test_a_missing_entry_is_found(notes: list[str], data: st.DataObject) -> None:
    """Whether or not the rest is numbered anew."""
    entries = log([*notes, "last"])
    place = data.draw(st.integers(0, len(entries) - 2))
    rest = [*entries[:place], *entries[place + 1 :]]
    assert verify(rest) is not None
    assert verify([replace(e, number=i) for i, e in enumerate(rest, 1)]) is not None


@pytest.mark.parametrize(
    ("numbers", "told"), [([1, 3], "entry 2 is missing"), ([1, 1], "entry 1 stands twice")], ids=["missing", "twice"]
)
def test_a_wrong_number_is_told_as_what_it_is(numbers: list[int], told: str) -> None:
    """What is left out, or what was put in again."""
    entries = [replace(entry, number=number) for entry, number in zip(log(["a", "b"]), numbers, strict=True)]
    broken = verify(entries)
    assert broken is not None
    assert (broken.number, broken.what) == (2, told)


@pytest.mark.parametrize("shown", ["", "sha256:"])
def test_a_digest_on_paper_names_an_entry(shown: str) -> None:
    """In full or by its beginning, with or without the name of the function; too short a beginning names nothing."""
    entries = log(["a", "b", "c"])
    assert holds(entries, shown + entries[1].digest)
    assert holds(entries, shown + entries[1].digest[:12].upper())
    assert holds(entries, shown + entries[1].digest[:8])
    assert not holds(entries, shown + entries[1].digest[:7])
    assert not holds(entries[:1], shown + entries[1].digest)
