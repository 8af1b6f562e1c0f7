"""Checking a family: what is remembered of it, what is worked again, where a path belongs."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from faulttree.book import read_cases
from faulttree.book.files import collect
from faulttree.book.reader import load
from faulttree.workshop import memory as m
from faulttree.workshop.checking import Checked, check_families
from faulttree.workshop.whereabouts import NoKnowledge, whereabouts

HERE = Path(__file__).parent
SOUND = HERE.parent / "book" / "data" / "sound"

CASES = """\
cases:
  bus-first:
    description: The bus was seen dead.
    origin: constructed
    symptoms: [no-up]
    steps: [{found: bus.dead}]
    expect: {cause: bus}
  lamp-first:
    description: A lamp is the commonest cause of no light.
    origin: constructed
    symptoms: [no-light]
    expect: {cause: lamp}
"""


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A whole book with two cases."""
    root = tmp_path / "book"
    shutil.copytree(SOUND, root)
    shutil.copy(HERE / "data" / "sensible.yaml", root / "demo")
    (root / "demo" / "all.cases.yaml").write_text(CASES, encoding="utf-8")
    return root


def checked(book: Path, *more: Path, changed: bool = False) -> Checked:
    """What a check of the book finds, with a memory beside it."""
    (found,) = check_families([book, *more], ["demo"], remembered=book.parent / "memory", changed=changed)
    return found


def edit(path: Path, old: str, new: str) -> None:
    """Changes a file of the book."""
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_what_names_an_entry_with_an_error_is_not_an_error_too(book: Path) -> None:
    """A field misspelt in an amended question is one problem, in the overlay; who names the question is none."""
    practice, overlay = book / "demo" / "pilots.drills.yaml", book.parent / "shop"
    practice.write_text("heard:\n  dark: {words: [all dark], answers: {ask-light: [none]}}\n", encoding="utf-8")
    (overlay / "demo").mkdir(parents=True)
    amended = "checks:\n  ask-light: {amends: true, %s: 2}\n"
    (overlay / "demo" / "a.yaml").write_text(amended % "minuts", encoding="utf-8")
    told = [str(problem) for problem in checked(book, overlay).problems]
    assert [("minuts" in one, one.startswith(str(overlay))) for one in told] == [(True, True)]
    (overlay / "demo" / "a.yaml").write_text(amended % "minutes", encoding="utf-8")
    edit(practice, "ask-light", "ask-lights")
    assert any("ask-lights" in str(problem) for problem in checked(book, overlay).problems)


def test_a_sound_book_is_remembered(book: Path) -> None:
    """When nothing changed nothing is worked; all of it still is if it is not asked for what changed."""
    assert (checked(book).cases, checked(book, changed=True).unchanged, checked(book).cases) == (2, True, 2)


def test_what_changed_is_worked_alone(book: Path) -> None:
    """A fault's rate: the cases about its component, and no other."""
    checked(book)
    edit(book / "demo" / "gear.yaml", "dark, rate: 1,", "dark, rate: 2,")
    found = checked(book, changed=True)
    assert (found.cases, found.left, found.unchanged) == (1, 1, False)


def test_a_case_that_moved_is_an_error_at_its_place(book: Path) -> None:
    """Also when its result was remembered."""
    edit(book / "demo" / "all.cases.yaml", "{cause: lamp}", "{cause: bus}")
    for _ in range(2):
        (miss,) = checked(book).misses
        assert (miss.rule, miss.position.line, "lamp-first" in miss.what) == ("case-moved", 8, True)


def test_a_book_that_is_not_sound_is_not_remembered_as_sound(book: Path) -> None:
    """The next check of what changed looks at all again."""
    edit(book / "demo" / "all.cases.yaml", "{cause: lamp}", "{cause: bus}")
    checked(book)
    assert [len(checked(book, changed=True).misses) for _ in range(2)] == [1, 1]


@pytest.mark.parametrize("kept", ['{"results": [', '{"results": []}', '{"results": {"a": "b"}}', '{"files": 1}'])
def test_a_damaged_memory_is_as_good_as_none(book: Path, kept: str) -> None:
    """It costs time and nothing else."""
    checked(book)
    (path,) = (book.parent / "memory").glob("*.json")
    path.write_text(kept, encoding="utf-8")
    assert checked(book, changed=True).cases == 2


def test_results_follow_from_the_book(book: Path) -> None:
    """Another book, another key."""
    found = read_cases([book], "demo").cases[0]
    assert m.key_of(found, "sha256:1", False) != m.key_of(found, "sha256:2", False)


def test_a_whole_book_stands_by_itself(book: Path) -> None:
    """Named by its folder or by a file in it; an overlay lies on the shipped one."""
    overlay = book.parent / "shop"
    (overlay / "demo").mkdir(parents=True)
    (overlay / "demo" / "a.yaml").write_text("{}", encoding="utf-8")
    shipped = Path("/shipped")
    assert whereabouts(shipped, [], [book]).folders == (book,)
    assert whereabouts(shipped, [], [book / "demo" / "gear.yaml"]).folders == (book,)
    assert whereabouts(book, [], [overlay]).folders == (book, overlay)


def test_families_are_those_that_read_the_path(book: Path) -> None:
    """All for a shared file; one for a file of its own."""
    (book / "other").mkdir()
    (book / "other" / "family.yaml").write_text("family: {id: other, name: Other, proof: swing}", encoding="utf-8")
    assert whereabouts(book, [], [book / "shared" / "basics.yaml"]).families == ("demo", "other")
    assert whereabouts(book, [], [book / "demo" / "gear.yaml"]).families == ("demo",)


def test_a_path_that_is_not_there(book: Path) -> None:
    """Is named."""
    with pytest.raises(NoKnowledge, match="nowhere"):
        whereabouts(book, [], [book / "nowhere"])


@pytest.mark.parametrize(
    ("changed", "groups"),
    [
        ({"lamp.dark"}, {"lamps"}),
        ({"bus.dead"}, set()),
        ({"new-lamp"}, {"lamps"}),
        ({"light"}, {"lamps"}),
        ({"horn"}, {"lamps", "horn"}),
    ],
)
def test_only_options_that_a_change_may_touch_are_looked_at(changed: set[str], groups: set[str]) -> None:
    """Those of what changed, of what it names and of what names it; all where a group of options changed."""
    files, problems = collect([SOUND], "demo")
    assert m.groups_touched(load(files, "demo", problems).written, changed) == groups


def test_a_mistake_at_an_option_is_found_among_what_changed(book: Path) -> None:
    """The event that changed names what only some aircraft have."""
    checked(book)
    edit(book / "demo" / "gear.yaml", "any_of: [bus.dead]}", "all_of: [bus.dead, lamp.dark]}")
    (problem,) = checked(book, changed=True).problems
    assert (problem.rule, "with lamps=two-lamps" in problem.what) == ("not-fitted", True)
