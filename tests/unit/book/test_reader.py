"""The reader as a whole: digest, options, what must be there once."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from faulttree.book import BookReading, check_all_options, families, read_book, read_texts

Reader = Callable[..., BookReading]
SOUND = Path(__file__).parent / "data" / "sound"


def _digest(texts: Mapping[str, str], fitted: tuple[str, ...] = ()) -> str:
    book = read_texts(texts, "demo", fitted).book
    assert book is not None
    return book.digest


def test_a_sound_book_loads(read_with: Reader) -> None:
    """The sound book has no problem, and carries the name, version and standing cautions that its files give."""
    reading = read_with()
    assert reading.problems == ()
    assert reading.book is not None
    assert (reading.book.name, reading.book.version) == ("Demo gear", "2026.1")
    assert reading.book.standing_cautions == ("manual-governs",)


def test_files_and_texts_give_the_same_book(sound: Mapping[str, str]) -> None:
    """Reading from a folder and from texts is the same thing."""
    assert read_book([SOUND], "demo").book == read_texts(sound, "demo").book
    assert families([SOUND]) == ["demo"]


def test_the_digest_leaves_layout_out(sound: Mapping[str, str]) -> None:
    """Comments, blank lines, flow or block style, order of fields and the split over files do not change it."""
    text = sound["demo/gear.yaml"]
    new = text.replace("  bus: {name: Bus, ata: 24-50}\n", "  # a comment\n  bus:\n\n    ata: 24-50\n    name: 'Bus'\n")
    head, _, actions = new.partition("actions:\n")
    moved = {**sound, "demo/gear.yaml": head, "demo/actions.yaml": "actions:\n" + actions}
    assert (new != text, _digest(moved)) == (True, _digest(sound))


def test_the_digest_is_that_of_the_files_whatever_is_fitted(sound: Mapping[str, str]) -> None:
    """Options choose from a book; they do not make it another book."""
    assert _digest(sound, ("two-lamps",)) == _digest(sound)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("rate: 0.2", "rate: 0.3"),
        ("name: Bus,", "name: Busbar,"),
        ("[feed, leg-held,", "[leg-held, feed,"),
        ("{left: 0.3, right: 0.3, nose: 0.4}", "{left: 0.3, right: 0.4, nose: 0.3}"),
    ],
)
def test_the_digest_changes_with_the_content(sound: Mapping[str, str], old: str, new: str) -> None:
    """Any change of what is said makes another digest."""
    assert old in sound["demo/gear.yaml"]
    changed = {**sound, "demo/gear.yaml": sound["demo/gear.yaml"].replace(old, new, 1)}
    assert _digest(changed) != _digest(sound)


def test_the_digest_heeds_the_order_of_outcomes(sound: Mapping[str, str]) -> None:
    """The first outcome that holds is the true one, so their order is content."""
    one, two = "a: {label: A, when: bus.dead}", "b: {label: B, when: lock.dry}"
    digests = set()
    for first, second in ((one, two), (two, one)):
        outcomes = f"{{{first}, {second}, c: {{label: C, otherwise: true}}}}"
        numbers = "minutes: 1, detects: 0.9, false_alarm: 0.1, basis: estimate"
        text = f"checks: {{x: {{name: X, kind: look, {numbers}, outcomes: {outcomes}}}}}"
        digests.add(_digest({**sound, "demo/x.yaml": text}))
    assert len(digests) == 2


def test_an_overlay_gives_the_digest_of_the_book_written_so(sound: Mapping[str, str]) -> None:
    """The digest is of the merged book: an amendment and the same change in place are one book."""
    amended = {**sound, "shop/demo/x.yaml": "actions: {new-lamp: {amends: true, minutes: 7}}\n"}
    text = sound["demo/gear.yaml"].replace("name: New lamp, minutes: 5", "name: New lamp, minutes: 7")
    assert _digest(amended) == _digest({**sound, "demo/gear.yaml": text})


def test_a_book_is_checked_at_each_option(tmp_path: Path) -> None:
    """What is wrong with another option only is found, and the option is named."""
    overlay = tmp_path / "demo"
    overlay.mkdir()
    (overlay / "x.yaml").write_text("symptoms:\n  no-light: {amends: true, when: lamp.dark}\n")
    roots = [SOUND, tmp_path]
    problems = check_all_options(roots, "demo")
    assert read_book(roots, "demo").book is not None
    assert {(p.rule, "lamps=two-lamps" in p.what) for p in problems} >= {("symptom-can-be", True)}
    assert all("two-lamps" in p.what for p in problems)


def test_a_sound_book_is_sound_at_each_option() -> None:
    """The sample book has no problem at any option."""
    assert [str(p) for p in check_all_options([SOUND], "demo")] == []


@pytest.mark.parametrize(
    ("name", "old", "new", "rules"),
    [
        ("shared/basics.yaml", "book: {", "bok: {", {"missing-section", "unknown-section"}),
        ("demo/gear.yaml", "family: {id: demo, name: Demo gear, proof: swing}", "", {"missing-section"}),
        ("demo/gear.yaml", "family: {id: demo", "family: {id: demon", {"family"}),
        ("demo/gear.yaml", "proof: swing}", "proof: swung}", {"unknown-id"}),
        ("demo/gear.yaml", "proof: swing}", "proof: look-at-bus}", {"proof-names-squawk"}),
    ],
)
def test_book_and_family_stand_where_they_belong(
    sound: Mapping[str, str], name: str, old: str, new: str, rules: set[str]
) -> None:
    """The section of the book and of the family must be there, once, with what they name."""
    reading = read_texts({**sound, name: sound[name].replace(old, new, 1)}, "demo")
    assert ({p.rule for p in reading.problems}, reading.book) == (rules, None)


def test_a_family_section_in_the_shared_folder_is_refused(sound: Mapping[str, str]) -> None:
    """Every family would otherwise have the same name."""
    gear = sound["demo/gear.yaml"].replace("family: {id: demo, name: Demo gear, proof: swing}\n", "")
    family = "family: {id: demo, name: Demo, proof: swing}\n"
    reading = read_texts({**sound, "demo/gear.yaml": gear, "shared/f.yaml": family}, "demo")
    assert [(str(p.position), p.rule) for p in reading.problems] == [("shared/f.yaml:1:1", "sections")]


def test_regression_cases_are_not_part_of_the_book(sound: Mapping[str, str]) -> None:
    """A file of cases may say anything; the book is the same."""
    reading = read_texts({**sound, "demo/a.cases.yaml": "cases: [nonsense"}, "demo")
    assert reading.problems == ()


def test_importing_the_package_brings_neither_yaml_nor_pydantic() -> None:
    """The heavy machinery waits until a book must be read."""
    code = "import sys, faulttree.book\nprint(sorted({'yaml', 'pydantic', 'networkx', 'difflib'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_one_broken_entry_does_not_make_others_look_broken(sound: Mapping[str, str]) -> None:
    """What a broken entry defines or names is not reported as missing elsewhere."""
    text = sound["demo/gear.yaml"]
    broken = {
        "an action": ("{name: Repair the bus, minutes: 60", "{name: Repair the bus, minutes: never"),
        "a chain": ("    name: Feed\n", "    nam: Feed\n"),
        "a component": ("lock: {name: Lock,", "lock: {name: [],"),
        "a symptom": ("    name: No light\n", "    name: 12\n"),
        "a check": ("    name: Swing the gear\n", "    name: 3\n"),
    }
    found = {}
    for what, (old, new) in broken.items():
        assert text.count(old) == 1
        rules = {p.rule for p in read_texts({**sound, "demo/gear.yaml": text.replace(old, new)}, "demo").problems}
        found[what] = rules - {"value", "unknown-field", "missing-field"}
    assert found == {what: set() for what in broken}


def test_one_syntax_error_does_not_make_others_look_broken(sound: Mapping[str, str]) -> None:
    """An entry lost to a syntax error is told once; what refers to it is left alone."""
    text = sound["demo/gear.yaml"].replace("new-lamp: {name: New lamp,", "new-lamp: {name: 'New lamp,")
    problems = read_texts({**sound, "demo/gear.yaml": text}, "demo").problems
    assert [p.rule for p in problems] == ["syntax"]
