"""Regression cases: their written form, and whether what they name is there."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.book import read_cases
from faulttree.book.cases import CasesReading, Expect, Measured, Step

SOUND = Path(__file__).parent / "data" / "sound"

READING = """
limits:
  lock-force: {name: Lock force, unit: lbf, where: Gear section}
checks:
  look-at-bus: {amends: true, reading: {quantity: v, unit: V, error: 0.1, limit: bus-volts, below: burnt, above: good}}
"""
CASE = """
cases:
  bus-first:
    description: With a dry day and no light the bus leads.
    origin: constructed
    symptoms: [no-up]
    absent: [no-light]
    circumstances: [wet]
    hours: 30
    standing: [master-on]
    steps:
      - {answer: look-at-lock-left=good}
      - {unsure: ask-light=none}
      - {reading: "look-at-bus=11.5 V", limit: "bus-volts=12 V (manual 24-50, table 1)"}
      - {found: lock-nose.dry}
      - {did: oil-lock-nose}
    expect:
      {cause: lock, within: 2, next: [swing, help], kinds: [check], cautions: [hot-bus], not_offered: [fix-bus],
       contradiction: false, order: [bus, lock]}
"""


def _read(tmp_path: Path, text: str, folder: str = "demo") -> CasesReading:
    for name, content in (("demo/x.yaml", READING), (f"{folder}/x.cases.yaml", text)):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(content)
    return read_cases([SOUND, tmp_path], "demo")


def _rules(reading: CasesReading) -> list[str]:
    return [p.rule for p in reading.problems]


def test_a_case_is_read_in_full(tmp_path: Path) -> None:
    """Every part of a case comes out typed, in the order written, with its place."""
    reading = _read(tmp_path, CASE)
    assert [str(p) for p in reading.problems] == []
    (case,) = reading.cases
    assert (case.id, case.family, case.hours, case.position.line) == ("bus-first", "demo", 30.0, 3)
    assert case.steps == (
        Step("answer", "look-at-lock-left", "good"),
        Step("unsure", "ask-light", "none"),
        Step(
            "reading",
            "look-at-bus",
            measured=Measured(11.5, "V"),
            limit="bus-volts",
            limit_is=Measured(12.0, "V", "manual 24-50, table 1"),
        ),
        Step("found", "lock-nose.dry"),
        Step("did", "oil-lock-nose"),
    )
    assert case.expect == Expect(
        "lock", 2, ("bus", "lock"), ("swing", "help"), (), ("check",), ("hot-bus",), ("fix-bus",), contradiction=False
    )


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("[no-up]", "[no-upp]", 6),
        ("[no-light]", "[no-lite]", 7),
        ("[wet]", "[wett]", 8),
        ("[master-on]", "[master-off]", 10),
        ("look-at-lock-left=good", "look-at-lock=good", 12),
        ("look-at-lock-left=good", "look-at-lock-left=god", 12),
        ("ask-light=none", "ask-lights=none", 13),
        ("look-at-bus=11.5", "look-at-buss=11.5", 14),
        ("bus-volts=12", "lock-force=12", 14),
        ("lock-nose.dry", "lock.dry", 15),
        ("oil-lock-nose", "oil-lock", 16),
        ("cause: lock,", "cause: locks,", 18),
        ("[swing, help]", "[swung]", 18),
        ("[hot-bus]", "[hot]", 18),
        ("[fix-bus]", "[fix]", 18),
    ],
)
def test_an_unknown_name_is_a_problem_at_its_place(tmp_path: Path, old: str, new: str, line: int) -> None:
    """A case that names what the book does not have is reported there and left out."""
    assert CASE.count(old) == 1
    reading = _read(tmp_path, CASE.replace(old, new))
    assert ([(p.position.line, p.rule) for p in reading.problems], reading.cases) == ([(line, "unknown-id")], ())


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ("    description: With a dry day and no light the bus leads.\n", "", "missing-field"),
        ("description:", "descripton:", "unknown-field"),
        ("constructed", "invented", "value"),
        ("hours: 30", "hours: soon", "value"),
        ("{found: lock-nose.dry}", "{found: lock-nose.dry, did: oil-lock-nose}", "value"),
        ("look-at-lock-left=good", "look-at-lock-left", "value"),
        ("=11.5 V", "=high", "value"),
        (" (manual 24-50, table 1)", "", "value"),
        ('{reading: "look-at-bus=11.5 V", limit:', "{limit:", "value"),
        ("look-at-bus=11.5", "ask-light=11.5", "value"),
        ("absent: [no-light]", "absent: [no-up]", "value"),
        ("symptoms: [no-up]", "symptoms: []", "value"),
        ("kinds: [check]", "kinds: [guess]", "value"),
        ("cause: lock, ", "", "value"),
        ("cases:", "case:", "unknown-section"),
        ("standing: [master-on]", "fitted: [three-lamps]", "fitted"),
        ("standing: [master-on]", "family: other", "family"),
    ],
)
def test_a_flawed_case_is_refused(tmp_path: Path, old: str, new: str, rule: str) -> None:
    """What the written form does not allow is a problem, and no case comes out."""
    assert CASE.count(old) == 1
    reading = _read(tmp_path, CASE.replace(old, new))
    assert (set(_rules(reading)) >= {rule}, reading.cases) == (True, ())


def test_nothing_expected_is_refused(tmp_path: Path) -> None:
    """A case that expects nothing would always pass."""
    head, _, _ = CASE.partition("    expect:")
    assert _rules(_read(tmp_path, head + "    expect: {}\n")) == ["value"]


def test_a_flawed_case_hides_no_other(tmp_path: Path) -> None:
    """The sound cases of a file come out beside the problems of the others."""
    reading = _read(
        tmp_path, CASE + "  bad: {description: x, origin: shop, symptoms: [no-upp], expect: {cause: lock}}\n"
    )
    assert ([case.id for case in reading.cases], _rules(reading)) == (["bus-first"], ["unknown-id"])


def test_a_shared_case_says_its_family(tmp_path: Path) -> None:
    """In the shared folder a case names its family; one about another family is passed over."""
    assert _rules(_read(tmp_path, CASE, "shared")) == ["missing-field"]
    ours = _read(tmp_path, CASE.replace("origin:", "family: demo\n    origin:"), "shared")
    assert (len(ours.cases), _rules(ours)) == (1, [])
    theirs = _read(tmp_path, CASE.replace("origin:", "family: other\n    origin:"), "shared")
    assert (theirs.cases, _rules(theirs)) == ((), [])


def test_a_case_is_held_against_its_own_options(tmp_path: Path) -> None:
    """What is there only with an option can be named by a case that has it."""
    text = "cases: {a: {description: d, origin: shop, symptoms: [no-light], expect: {cause: lamps}}}\n"
    assert _rules(_read(tmp_path, text)) == ["unknown-id"]
    assert _rules(_read(tmp_path, text.replace("origin", "fitted: [two-lamps], origin"))) == []


def test_no_cases_are_no_problem() -> None:
    """A family without cases reads as none."""
    assert read_cases([SOUND], "demo") == CasesReading((), ())
