"""Mistakes that shop leads make: each is told on the line where it is mended, in words that say how."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from faulttree.book.files import SourceFile, from_texts
from faulttree.book.positions import Problem
from faulttree.book.reader import check_at_all_options

RIGHT = """\
checks:
  look:
    name: Look
    kind: look
    minutes: 3
    outcomes:
      bad: {label: Bad, when: bus.dead}
      good: {label: Good, otherwise: true}
    detects: 0.95
    false_alarm: 0.02
    basis: estimate
limits:
  sag: {name: Sag, unit: V, where: electrical section, typical: 1, basis: estimate}
events:
  one: {name: One, any_of: [two]}
  two: {name: Two, any_of: [bus.dead]}
components:
  strut: {name: Strut, ata: 32-10}
  bolt: {name: Bolt, also_called: [pin]}
"""

# What is written, what somebody writes instead, the line of the message, words that have to be in it.
MISTAKES = {
    "indented too far": ("    minutes: 3", "      minutes: 3", 5, "indent the line like the one above"),
    "indented too little": ("    minutes: 3", "   minutes: 3", 5, "indent what belongs together alike"),
    "an entry at the margin": ("  look:", "look:", 2, "indent it by two spaces"),
    "fields beside their id": ("    name: Look", "  name: Look", 2, "write its fields below it, indented"),
    "an id without its colon": ("  look:", "  look", 2, "write `key: value`"),
    "the first field without its colon": ("    name: Look", "    name Look", 3, "write `key: value`"),
    "a later field without its colon": ("    minutes: 3", "    minutes 3", 5, "write `key: value`"),
    "tab": ("    minutes: 3", "\tminutes: 3", 5, "indent with spaces only"),
    "percent as a number": ("detects: 0.95", "detects: 95", 9, "95 % is 0.95"),
    "percent sign": ("detects: 0.95", "detects: 95%", 9, "write 0.95, as a part of one"),
    "percent sign in front": ("detects: 0.95", "detects: %95", 9, "95 % is written 0.95"),
    "decimal comma": ("detects: 0.95", "detects: 0,95", 9, "write 0.95"),
    "decimal comma in brackets": ("typical: 1,", "typical: 1,5,", 13, "write a point: 0.5"),
    "unit behind a number": ("minutes: 3", "minutes: 3 min", 5, "write 3, with nothing behind it"),
    "long dash": ("minutes: 3", "minutes: –3", 5, "write -3"),
    "number in words": ("minutes: 3", "minutes: three", 5, "write a decimal number"),
    "yes": ("otherwise: true", "otherwise: yes", 8, "write `true`"),
    "yes in quotes": ("otherwise: true", "otherwise: 'true'", 8, "take the quotes away"),
    "no space behind the dash": ("also_called: [pin]", "also_called: -pin", 19, "put a space behind the dash: - pin"),
    "the same section twice": ("limits:\n", "checks: {}\nlimits:\n", 12, "put what stands under both under one"),
    "the same id twice": ("  bolt:", "  strut:", 19, "the first is on line 18; keep one"),
    "an id of another file": ("  bolt:", "  bus:", 19, "already, at demo/gear.yaml:4:3; keep one"),
    "missing quote": ("name: Look", 'name: "Look', 3, "close it with the same kind of quote"),
    "quote within quotes": ("label: Bad", "label: 'That's bad'", 7, "or write the apostrophe twice"),
    "apostrophe in quotes": ("name: Look", "name: 'Don't look'", 3, "put double quotes around the text"),
    "quotes in quotes": ("name: Look", 'name: "Call "clear" first"', 3, "put single quotes around a text"),
    "comment in a bracket": ("also_called: [pin]", "also_called: [pin # both]", 19, "close it before the #"),
    "hours and minutes": ("minutes: 3", "minutes: 1:30", 5, "90 for minutes"),
    "circular gate": ("[bus.dead]}", "[bus.dead, one]}", 15, "one -> two -> one; break the circle"),
    "misspelt id": ("when: bus.dead", "when: bus.daed", 7, "did you mean `bus.dead`?"),
    "misspelt field": ("false_alarm", "false-alarm", 10, "did you mean `false_alarm`?"),
    "misspelt section": ("components:", "component:", 17, "did you mean `components`?"),
    "capital letter in an id": ("  look:", "  Look:", 2, "use small letters, digits and single hyphens"),
    "space that does not break": ("minutes: 3", "minutes:\u00a03", 5, "type a space in its place"),
    "sign of no width": ("when: bus.dead", "when: bus.\u200bdead", 7, "(U+200B) stands here; delete it"),
    "unknown unit": ("unit: V", "unit: Volt-ish", 13, "did you mean `volts`?"),
    "no space behind the colon": ("minutes: 3", "minutes:3", 5, "without a space behind that"),
    "colon in a text": ("name: Look", "name: Look: closely", 3, "put quotes around a text that has a colon"),
    "a word for a list": ("also_called: [pin]", "also_called: pin", 19, "write [first, second]"),
    "open bracket": ("also_called: [pin]", "also_called: [pin", 19, "close it with } or ]"),
    "comment sign": ("name: Look", "name: #Look", 3, "in quotes, if it begins with #"),
    "star": ("name: Look", "name: *Look*", 3, "put quotes around it"),
    "number for a name": ("ata: 32-10", "ata: 32", 18, "put quotes around it"),
    "no basis": ("    basis: estimate\n", "", 2, "add `basis: estimate`"),
    "detects and false alarm swapped": ("detects: 0.95", "detects: 0.01", 9, "let `detects` be the larger"),
    "what remains is not last": (
        "otherwise: true",
        "when: bus.dead",
        8,
        "end with an outcome that says `otherwise: true`",
    ),
    "a number sign within a text": ("name: Look", "name: Look #2 at it", 3, "from #2 on this is a comment"),
    "a comma in a text without quotes": (
        "    basis: estimate\n",
        "    basis: {kind: shop-history, note: 3 in 20000 h, since 2023}\n",
        11,
        "a comma ends the text before it",
    ),
    "curly quotes": ("label: Bad", "label: “Bad”", 7, "type straight ones"),
    "a curly quote in front, a straight one behind": ("label: Bad", 'label: “Bad"', 7, "type straight ones"),
    "a curly quote behind alone": ("label: Bad", "label: Bad”", 7, "type straight ones"),
    "a nought before a number": ("minutes: 3", "minutes: 03", 5, "write 3, without quotes"),
    "a list where one thing is meant": (
        "when: bus.dead}",
        "when: [bus.dead, lamp.dark]}",
        7,
        "any_of: [bus.dead, lamp.",
    ),
    "a list for a text": ("name: Look", "name: [Look]", 3, "write one text, without brackets"),
    "a comma forgotten in a bracket": ("{name: Sag, unit: V,", "{name: Sag unit: V,", 13, "missing before `unit`"),
    "semicolons in a list": ("[bus.dead]}", "[bus.dead; lamp.dark]}", 16, "part them by a comma: bus.dead, lamp.dark"),
    "a long dash for a list": ("also_called: [pin]", "also_called: – pin", 19, "write a hyphen and a space: - pin"),
    "the last outcome forgotten": (
        "      good: {label: Good, otherwise: true}\n",
        "",
        7,
        "add what is shown where nothing is wrong: `ok: {label",
    ),
    "outcomes as a list": (
        "      bad: {label: Bad, when: bus.dead}\n      good: {label",
        "      - {label: Bad, when: bus.dead}\n      - {label",
        7,
        "write `id: {…}` below it for each, without dashes",
    ),
    "a letter of another encoding": ("label: Bad", "label: B\udce4d", 7, "save it as UTF-8"),
}


def found(sound: Mapping[str, str], content: bytes) -> list[Problem]:
    """All that is wrong with the sound book and one more file."""
    files, problems = from_texts(sound, "demo")
    return list(check_at_all_options([*files, SourceFile("demo/more.yaml", 0, "demo", content)], problems, "demo")[0])


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_told_where_and_how_it_is_mended(mistake: str, sound: Mapping[str, str]) -> None:
    """One of the messages is on the line, and says what to write; none is about a line before."""
    right, wrong, line, words = MISTAKES[mistake]
    assert RIGHT.count(right) == 1 or right in ("    basis: estimate\n", "[bus.dead]}")
    problems = found(sound, RIGHT.replace(right, wrong, 1).encode("utf-8", "surrogateescape"))
    told = [str(p) for p in problems if p.position.line == line]
    assert [text for text in told if words in text] != [], "\n".join(map(str, problems))
    assert min(p.position.line for p in problems) == line


def test_what_is_right_passes(sound: Mapping[str, str]) -> None:
    """Nothing is found in the text that the mistakes are made in."""
    assert [str(problem) for problem in found(sound, RIGHT.encode())] == []


@pytest.mark.parametrize("label", ["“Bad” at first", "Bore of 2”", "It’s bad"])
def test_curly_signs_that_belong_to_the_words_pass(label: str, sound: Mapping[str, str]) -> None:
    """Something quoted inside a text, inches and an apostrophe."""
    assert found(sound, RIGHT.replace("label: Bad", f"label: {label}", 1).encode()) == []


@pytest.mark.parametrize("dress", ["\ufeff{}", "{}", "\ufeff{}\r\n"])
@pytest.mark.parametrize("ends", ["\r\n", "\n"])
def test_what_editors_add_does_no_harm(sound: Mapping[str, str], dress: str, ends: str) -> None:
    """A byte order mark and line ends of another kind are read over, and lines and columns stay right."""
    assert found(sound, dress.format(RIGHT.replace("\n", ends)).encode()) == []
    (problem,) = found(sound, dress.format(RIGHT.replace("0.95", "95").replace("\n", ends)).encode())
    assert (problem.position.line, problem.position.column) == (9, 14)
