"""YAML text to plain data: what words mean, where things stand, what is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from faulttree.book import yamltext
from faulttree.book.files import SIZE
from faulttree.book.yamlbuild import MOST_TOLD
from faulttree.book.yamltext import YamlFile, read_yaml


def _read(text: str) -> YamlFile:
    return read_yaml(text.encode(), "t.yaml")


def _value(word: str) -> Any:
    result = _read(f"section: {{key: {word}}}\n")
    assert result.problems == []
    return result.data["section"]["key"]


@pytest.fixture(params=["fast", "pure"])
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both of the library's parsers in turn."""
    if request.param == "pure":
        monkeypatch.setattr(yamltext, "_LOADER", yaml.SafeLoader)
    return str(request.param)


@pytest.mark.parametrize(
    "word",
    ["yes", "no", "on", "off", "True", "FALSE", "012", "0x1F", "0o7", "1:30", "1_000", "1e", "2001-01-01", ".inf"],
)
@pytest.mark.usefixtures("either_parser")
def test_other_words_stay_words(word: str) -> None:
    """What YAML 1.1 would take for a boolean, an octal, a sexagesimal, a date … is the word it is."""
    assert _value(word) == word


@pytest.mark.parametrize(
    ("word", "value"),
    [
        ("true", True),
        ("false", False),
        ("0", 0),
        ("-12", -12),
        ("0.25", 0.25),
        (".5", 0.5),
        ("1e-4", 1e-4),
        ("2E3", 2000.0),
        ("~", None),
        ("null", None),
        ("'12'", "12"),
        ('"true"', "true"),
        ("''", ""),
    ],
)
@pytest.mark.usefixtures("either_parser")
def test_what_plain_and_quoted_words_mean(word: str, value: Any) -> None:
    """Only ``true`` and ``false`` are booleans, numbers are decimal, quotes make words."""
    found = _value(word)
    assert (found, type(found)) == (value, type(value))


@pytest.mark.usefixtures("either_parser")
def test_keys_are_always_words() -> None:
    """A key is the word it is written as, whatever it would mean as a value."""
    assert _read("s: {yes: 1, 12: 2, true: 3, null: 4}\n").data == {"s": {"yes": 1, "12": 2, "true": 3, "null": 4}}


def test_positions_count_from_one() -> None:
    """Keys and values are found by path, lines and columns counted from 1."""
    places = _read("checks:\n  look:\n    needs: [jacks, power]\n").places
    key, value = places.key(("checks", "look", "needs")), places.value(("checks", "look", "needs", 1))
    assert [(p.line, p.column) for p in (key, value)] == [(3, 5), (3, 20)]


def test_a_path_that_is_not_there_stands_at_what_is_around_it() -> None:
    """The place of a missing field is the key of the entry that lacks it."""
    place = _read("checks:\n  look: {name: x}\n").places.key(("checks", "look", "minutes"))
    assert (place.line, place.column) == (2, 3)


def test_columns_count_characters() -> None:
    """Letters of more than one byte count as one column."""
    assert _read("s: {käse: 1, b: 2}\n").places.key(("s", "b")).column == 14


@pytest.mark.parametrize(
    ("text", "line", "column", "rule"),
    [
        ("s: {a: 1, a: 2}\n", 1, 11, "duplicate-key"),
        ("s: {a: &x 1}\n", 1, 8, "no-anchors"),
        ("s: {a: *x}\n", 1, 8, "no-anchors"),
        ("s: {a: !!int 1}\n", 1, 8, "no-tags"),
        ("s: {<<: {b: 1}}\n", 1, 5, "no-merge-keys"),
        ("s: {[1]: 2}\n", 1, 5, "key-is-a-word"),
        ("a: 1\n---\nb: 2\n", 2, 1, "one-document"),
        ("- a\n- b\n", 1, 1, "sections"),
        ("a:\n\tb: 1\n", 2, 1, "syntax"),
        ("a: 'b\nc: 1\n", 1, 4, "syntax"),
        ("a: {b: 1\nc: 2\n", 1, 4, "syntax"),
        ("a: b: c\n", 1, 5, "syntax"),
        ("a: {b: c: d}\n", 1, 9, "syntax"),
        ("a: @b\n", 1, 4, "syntax"),
        ("a: [" + "[" * 25 + "]" * 25 + "]\n", 1, 23, "depth"),
        ("a: b\x07\n", 1, 5, "no-control-characters"),
        ("a: b\u2028c\n", 1, 5, "no-control-characters"),
        ('a: "\\e[2J"\n', 1, 4, "no-control-characters"),
        ('a: "\\0"\n', 1, 4, "no-control-characters"),
    ],
)
@pytest.mark.usefixtures("either_parser")
def test_what_is_refused_and_where(text: str, line: int, column: int, rule: str) -> None:
    """What the format does not allow is one problem at its place."""
    found = [(p.position.line, p.position.column, p.rule) for p in _read(text).problems]
    assert found == [(line, column, rule)]


def test_a_duplicate_key_points_at_both_places() -> None:
    """The second of two keys alike is reported where it stands, with the line of the first, which stays."""
    result = _read("s:\n  a: 1\n  a: 2\n")
    assert (result.problems[0].position.line, "line 2" in result.problems[0].what) == (3, True)
    assert result.data == {"s": {"a": 1}}


def test_bytes_that_are_not_utf8_are_reported_where_they_stand() -> None:
    """A file in another encoding is one problem, at the first byte that shows it."""
    problem = read_yaml("a: 1\nb: ä\n".encode("latin-1"), "t.yaml").problems[0]
    assert (problem.position.line, problem.position.column, problem.rule) == (2, 4, "utf-8")


@pytest.mark.parametrize("escape", ["\\ud800", "\\U00110000", "\\UFFFFFFFF"])
@pytest.mark.usefixtures("either_parser")
def test_escapes_that_are_no_characters_are_refused(escape: str) -> None:
    """Half a pair, or a number beyond the last character, gives a problem, never an error or a text."""
    assert len(_read(f'a: "{escape}"\n').problems) == 1


def test_a_byte_order_mark_is_no_flaw() -> None:
    """A file that an editor saved with a byte order mark reads like any other."""
    assert read_yaml(b"\xef\xbb\xbfa: 1\n", "t.yaml").data == {"a": 1}


def test_an_oversized_file_is_not_read() -> None:
    """A file over the limit is one problem and no data."""
    result = read_yaml(b"#" * (SIZE + 1), "t.yaml")
    assert ([p.rule for p in result.problems], result.data) == (["file-size"], {})


@pytest.mark.parametrize("text", ["", "\n", "# nothing\n", "---\n", "~\n"])
def test_an_empty_file_is_sound(text: str) -> None:
    """A file without content is no mistake."""
    result = _read(text)
    assert (result.data, result.problems) == ({}, [])


@pytest.mark.usefixtures("either_parser")
def test_reading_goes_on_after_a_syntax_error() -> None:
    """A syntax error costs its entry alone; those before and after it are read, in its section and the next."""
    result = _read("s:\n  a: {n: 1}\n  b: {n: 'x}\n  c: {n: 3}\nt:\n  d: {n: 4}\n")
    assert result.data == {"s": {"a": {"n": 1}, "c": {"n": 3}}, "t": {"d": {"n": 4}}}
    assert ([p.position.line for p in result.problems], "b" in result.lost) == ([3], True)


def test_a_key_repeated_after_a_syntax_error_is_still_found() -> None:
    """Reading on in pieces does not hide that an id stands twice."""
    result = _read("s:\n  a: {n: 1}\n  b: {n: 'x}\n  a: {n: 3}\n")
    assert [(p.position.line, p.rule) for p in result.problems] == [(3, "syntax"), (4, "duplicate-key")]


def test_both_parsers_read_the_same(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sound book is the same data with either of the library's parsers."""
    contents = [path.read_bytes() for path in sorted((data / "sound").glob("*/*.yaml"))]
    fast = [read_yaml(content, "t.yaml") for content in contents]
    monkeypatch.setattr(yamltext, "_LOADER", yaml.SafeLoader)
    assert [read_yaml(content, "t.yaml") for content in contents] == fast


def test_the_same_file_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Under its name and with its bytes; under another name or with others it is another file."""
    first = read_yaml(b"a: {b: 1}\n", "once.yaml")
    monkeypatch.setattr(yamltext, "_read", lambda content, file: YamlFile(file))
    assert read_yaml(b"a: {b: 1}\n", "once.yaml") is first
    assert read_yaml(b"a: {b: 2}\n", "once.yaml").data == {}
    assert read_yaml(b"a: {b: 1}\n", "other.yaml").data == {}


def test_what_was_read_can_be_forgotten() -> None:
    """Whoever measures how long reading takes reads anew."""
    first = read_yaml(b"a: {b: 1}\n", "forgotten.yaml")
    yamltext.forget()
    assert read_yaml(b"a: {b: 1}\n", "forgotten.yaml") is not first


@pytest.mark.parametrize(
    "text", ["s: {" + "a," * 5000 + "}\n", "s:\n" + "  a: }\n" * 30 + "  b: {" + "&c c," * 5000 + "}\n"]
)
def test_what_is_refused_again_and_again_is_told_a_thousand_times(text: str) -> None:
    """And then once more, that it is not all; before and after a syntax error together."""
    problems = _read(text).problems
    assert MOST_TOLD < len(problems) < MOST_TOLD + 60
    assert problems[-1].what.endswith("; more is wrong further down")
    assert not problems[-2].what.endswith("further down")
