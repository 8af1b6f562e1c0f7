"""Whatever the files hold, the reader answers with a book or with problems, and never raises."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from faulttree.book import BookReading, read_texts
from faulttree.book.casereader import read as read_case_files
from faulttree.book.files import from_texts
from tests.support.crafted import KINDS, crafted
from tests.support.share import many

SOUND = Path(__file__).parent / "data" / "sound"
TEXTS = {path.relative_to(SOUND).as_posix(): path.read_text("utf-8") for path in sorted(SOUND.glob("*/*.yaml"))}
GEAR = TEXTS["demo/gear.yaml"]
WORDS = sorted(set(re.findall(r"[^\s\[\]{},]+", "\n".join(TEXTS.values()))))
PIECES = [
    *WORDS,
    "{",
    "}",
    "[",
    "]",
    ": ",
    "- ",
    "\n",
    "\n  ",
    "\n    ",
    "\t",
    "'",
    '"',
    "#",
    "&a",
    "*a",
    "!t",
    "<<",
    "---",
]


def _holds_together(reading: BookReading) -> None:
    assert (reading.book is None) == bool(reading.problems)
    assert all(p.what and p.right and p.rule for p in reading.problems)
    assert list(reading.problems) == sorted(reading.problems)


@settings(max_examples=many(10, 30), deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Random characters as one more file give problems or a book."""
    _holds_together(read_texts({**TEXTS, "demo/more.yaml": text}, "demo"))


@settings(max_examples=many(10, 30), deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=40))
def test_any_pile_of_pieces_is_read_or_refused(pieces: list[str]) -> None:
    """The words and signs of real files in any order give problems or a book."""
    _holds_together(read_texts({**TEXTS, "demo/more.yaml": "".join(pieces)}, "demo"))


@settings(max_examples=many(20, 60), deadline=None)
@given(st.data())
def test_any_mutation_is_read_or_refused(data: st.DataObject) -> None:
    """A sound file with pieces cut out, doubled or replaced by others gives problems or a book."""
    text = GEAR
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        stop = data.draw(st.integers(start, min(len(text), start + 60)))
        text = text[:start] + data.draw(st.sampled_from(["", *PIECES, text[start:stop] * 2])) + text[stop:]
    _holds_together(read_texts({**TEXTS, "demo/gear.yaml": text}, "demo"))


@settings(max_examples=many(20, 60), deadline=None)
@given(st.data())
def test_any_word_in_place_of_another_is_read_or_refused(data: st.DataObject) -> None:
    """A sound file in which one word stands for another, which keeps it YAML, gives problems or a book."""
    spots = list(re.finditer(r"[^\s\[\]{},]+", GEAR))
    spot = data.draw(st.sampled_from(spots))
    word = data.draw(st.sampled_from([*WORDS, "null", "true", "0", "-1", "1e999", "[]", "{}", "[x]", "{x: y}", "''"]))
    _holds_together(read_texts({**TEXTS, "demo/gear.yaml": GEAR[: spot.start()] + word + GEAR[spot.end() :]}, "demo"))


@settings(max_examples=many(10, 30), deadline=None)
@given(st.sampled_from(WORDS), st.lists(st.sampled_from([*PIECES, "amends: true", "retires: true"]), max_size=20))
def test_any_overlay_is_read_or_refused(entry: str, pieces: list[str]) -> None:
    """An overlay that does anything to any entry gives problems or a book."""
    change = f"\n  {entry}: {{amends: true, {' '.join(pieces)}}}\n"
    sections = ("faults", "checks", "conditions", "opening", "equipment", "options", "components")
    texts = {f"shop/demo/{name}.yaml": f"{name}:{change}" for name in sections}
    _holds_together(read_texts({**TEXTS, **texts}, "demo"))


@settings(max_examples=many(10, 30), deadline=None)
@given(st.lists(st.sampled_from([*PIECES, "cases:", "expect:", "steps:", "reading:", "a=1 V"]), max_size=40))
def test_any_cases_are_read_or_refused(pieces: list[str]) -> None:
    """A file of cases made of any pieces gives cases or problems."""
    files, _ = from_texts({**TEXTS, "demo/x.cases.yaml": "cases:\n  a: " + "".join(pieces)}, "demo")
    cases, problems = read_case_files(files, "demo")
    assert all(case.description for case in cases)
    assert all(p.what and p.right for p in problems)


def _long_row(size: int, entry: str, last: str) -> str:
    """Entries of which each names the next, the last one something else."""
    rows = [entry.format(this=f"x-{i}", other=f"x-{i + 1}" if i + 1 < size else last) for i in range(size)]
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("section", "entry", "last"),
    [
        ("events", "  {this}: {{name: X, any_of: [{other}]}}", "bus.dead"),
        ("events", "  {this}: {{name: X, each_leg: true, any_of: [{other}]}}", "lock.dry"),
        ("symptoms", "  {this}: {{name: X, says: [a, b, c, d, e], when: {other}}}", "bus.dead"),
        ("chains", "  {this}: {{name: X, starts_at: {other}, elements: [{{faults: [bus.dead], tap: t}}]}}", "feed@bus"),
    ],
)
def test_long_rows_of_names_do_no_harm(section: str, entry: str, last: str) -> None:
    """Two thousand entries that name each other in a row are read without running out of stack."""
    row = _long_row(2000, entry, last)
    if section == "chains":
        row = re.sub(r"starts_at: (x-\d+)", r"starts_at: \1@t", row)
    reading = read_texts({**TEXTS, "demo/more.yaml": f"{section}:\n{row}"}, "demo")
    assert [str(p) for p in reading.problems] == []


def test_a_misspelt_section_is_one_problem() -> None:
    """What stands below it is not missing, so nobody who names it is told so."""
    problems = read_texts({**TEXTS, "demo/gear.yaml": GEAR.replace("\nevents:", "\nevent:")}, "demo").problems
    assert [p.rule for p in problems] == ["unknown-section"]


LARGE = 25_000
"""Bytes of a crafted file here, a tenth of the largest that is read: `tests/benchmarks/crafted.py` reads these."""


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_full_of_one_thing_is_read_or_refused(kind: str) -> None:
    """What somebody would write to keep the reader busy."""
    _holds_together(read_texts({**TEXTS, "demo/more.yaml": crafted(kind, LARGE)}, "demo"))


def test_a_long_ring_does_no_harm() -> None:
    """Two thousand entries in a ring are one problem."""
    row = _long_row(2000, "  {this}: {{name: X, any_of: [{other}]}}", "x-0")
    problems = read_texts({**TEXTS, "demo/more.yaml": f"events:\n{row}"}, "demo").problems
    assert [p.rule for p in problems] == ["no-rings"]
