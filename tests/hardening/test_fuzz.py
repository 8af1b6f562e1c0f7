"""The small share of `tests/jobs/fuzz.py`: mangled files, and cases worked in any order."""

from __future__ import annotations

from random import Random

import pytest

from tests.jobs.fuzz import files_read, random_walks
from tests.support.mangled import CHANGES, FAMILIES, SMALL, SourceFile, mangled, wrong_with


def test_mangled_files_are_read_or_refused_with_their_place() -> None:
    """Fifty, most of them in the small family: a book or positioned messages, in time, never an exception."""
    counts = files_read(50, 1, (SMALL,))
    assert counts.wrong == []
    assert counts.read == 50


@pytest.mark.parametrize("family", FAMILIES)
def test_a_mangled_shipped_book_is_read_or_refused(family: str) -> None:
    """Two of each family."""
    assert files_read(2, 7, (family,)).wrong == []


@pytest.mark.parametrize("how", CHANGES)
def test_every_change_changes_something(how: str) -> None:
    """Ten seeds, or the run would prove nothing of it."""
    text = b"faults:\n  a.b: {name: x, rate: 0.1}\n  c.d: {name: y, rate: 0.2}\n"
    assert len({CHANGES[how](Random(seed), text) for seed in range(10)}) > 1


def test_a_reader_that_raised_or_dawdled_would_be_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception is told by its name, and so is a book without a place for its message."""

    def fails(*_: object) -> None:
        raise RecursionError("too deep")

    monkeypatch.setattr("tests.support.mangled.reader.read", fails)
    changed = SourceFile("made-up/x.yaml", 0, SMALL, b"")
    assert wrong_with([changed], changed, SMALL)[0] == "RecursionError: too deep"


def test_any_way_through_a_case_holds_together() -> None:
    """Any key, any words, leaving and coming back, another writer: seeded, a few cases of thirty steps."""
    random_walks(cases=8, steps=30, number=1)


def test_the_same_seed_mangles_alike() -> None:
    """What was found can be looked at again."""
    one, other = mangled(Random(5), SMALL), mangled(Random(5), SMALL)
    assert (one[1], one[2]) == (other[1], other[2])
