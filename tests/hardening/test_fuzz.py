"""The small share of `tests/jobs/fuzz.py`: mangled files, and cases worked in any order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from faulttree.belief import Belief
from tests.jobs.fuzz import files_read, random_walks
from tests.support import walk
from tests.support.mangled import (
    CHANGES,
    EVERY,
    FAMILIES,
    SMALL,
    SourceFile,
    beside,
    book_files,
    mangled,
    wrong_anywhere,
    wrong_with,
)
from tests.support.walk import Walk, measured_book


@pytest.fixture(autouse=True)
def time_is_no_matter_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command judges how long a file takes; the suite runs beside whatever else the machine does."""
    monkeypatch.setattr("tests.support.mangled.SECONDS", 60.0)


def test_mangled_files_are_read_or_refused_with_their_place() -> None:
    """Fifty, most of them in the small family: a book or positioned messages, never an exception."""
    counts = files_read(50, 1, (SMALL,))
    assert counts.wrong == []
    assert counts.read == 50


@pytest.mark.parametrize("family", FAMILIES)
def test_a_mangled_shipped_book_is_read_or_refused(family: str) -> None:
    """Two of each family."""
    assert files_read(2, 7, (family,)).wrong == []


def _read_beside(name: str, family: str) -> set[str]:
    all_files = book_files(family)
    changed = next(file for file in all_files if Path(file.name).name == name)
    return {Path(file.name).name for file in beside(all_files, changed, family)}


def test_a_file_of_a_shipped_book_is_read_with_what_every_book_states() -> None:
    """The rest of what it names is unknown to the reader."""
    assert _read_beside("faults-down.yaml", "electromechanical") == {"book.yaml", "defaults.yaml", "faults-down.yaml"}


@pytest.mark.parametrize("name", ["will-not-retract.cases.yaml", "lessons.drills.yaml"])
def test_cases_and_lessons_are_read_with_the_whole_book(name: str) -> None:
    """And without the others of their kind."""
    book = {Path(file.name).name for file in book_files("electromechanical") if file.is_book}
    assert _read_beside(name, "electromechanical") == {*book, name}


@pytest.mark.parametrize("name", ["all.yaml", "sayings.yaml"])
def test_the_small_family_is_read_whole_but_for_the_sayings(name: str) -> None:
    """Unless they are what was changed."""
    book = {Path(file.name).name for file in book_files(SMALL)}
    assert _read_beside(name, SMALL) == book - ({"sayings.yaml"} - {name})


@pytest.mark.parametrize(
    ("number", "content", "within"), [(EVERY, b"}", True), (1, b"}", False), (3, b"", True), (4, b"", False)]
)
def test_some_are_read_within_their_family(number: int, content: bytes, within: bool) -> None:
    """Every twentieth, and every third that is sound as YAML."""
    all_files = [replace(f, content=content) if f.name.endswith("words.yaml") else f for f in book_files(SMALL)]
    changed = next(file for file in all_files if file.name.endswith("words.yaml"))
    told, _, _, was_within = wrong_anywhere(all_files, changed, SMALL, number)
    assert (told, was_within) == ("", within)


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


@pytest.fixture
def at_work(tmp_path: Path) -> Iterator[Walk]:
    """A case in which the squawk was told."""
    case = Walk(measured_book(), tmp_path)
    case.open_up(locked=True)
    yield case
    case.close()


@pytest.mark.parametrize("large", [0, 1000])
def test_results_that_do_not_make_one_would_be_noticed(
    at_work: Walk, monkeypatch: pytest.MonkeyPatch, large: int
) -> None:
    """On a large book as on a small one."""
    monkeypatch.setattr(walk, "LARGE", large)
    monkeypatch.setattr(Belief, "outcomes", lambda belief, check: (0.4, 0.4))
    assert any(told.endswith(" make 0.8") for told in at_work.faults())


def test_every_check_of_a_large_book_has_its_turn(at_work: Walk, monkeypatch: pytest.MonkeyPatch) -> None:
    """One in some moments, all of them over many."""
    asked = set()

    def outcomes(belief: Belief, check: str) -> tuple[float, ...]:
        asked.add(check)
        return (1.0,)

    monkeypatch.setattr(walk, "LARGE", 0)
    monkeypatch.setattr(Belief, "outcomes", outcomes)
    monkeypatch.setattr(walk, "Believer", lambda book: at_work.dialogue.believer)
    state = at_work.state()
    for _ in range(walk.ANEW * len(at_work.book.checks)):
        at_work.moments += 1
        list(at_work._belief(state, at_work.dialogue.believe(state), ""))
    assert asked == set(at_work.book.checks)


def test_nothing_new_is_not_looked_at_twice(at_work: Walk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither answered nor refined since: what was held then still holds."""
    assert list(at_work.faults()) == []
    monkeypatch.setattr(Belief, "outcomes", lambda belief, check: (0.4, 0.4))
    assert list(at_work.faults()) == []


def test_the_same_seed_mangles_alike() -> None:
    """What was found can be looked at again."""
    one, other = mangled(Random(5), SMALL), mangled(Random(5), SMALL)
    assert (one[1], one[2]) == (other[1], other[2])
