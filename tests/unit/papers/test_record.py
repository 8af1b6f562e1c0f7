"""The troubleshooting record: everything that was found and done, in order, and nothing else."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from faulttree import papers
from faulttree.belief import Belief, Believer
from faulttree.case import CaseEntry, add_up, verify
from faulttree.case.course import history
from faulttree.errors import BadCase
from faulttree.papers.moves import MOST_STEPS
from tests.support import worked
from tests.support.pages import pdf_text, squeezed


@pytest.fixture(scope="module")
def record() -> dict[str, Any]:
    return papers.record(worked.book(), "2031-03-14-1", worked.closed())


@pytest.fixture(scope="module")
def halfway() -> dict[str, Any]:
    return papers.record(worked.book(), "2031-03-14-1", worked.half_worked())


def test_outcome_cause_repair_and_proof_are_named(record: dict[str, Any]) -> None:
    """A closed case: its cause, its repair with the parts, its proof."""
    assert record["state"] == {"word": "closed", "reason": ""}
    assert record["cause"]["fault"] == worked.CHAFED
    assert [action["action"] for action in record["actions"]] == [worked.MEND]
    assert record["actions"][0]["parts"]
    assert record["proof"][-1]["name"] == worked.book().checks["retraction-test"].name
    assert all(proof["passed"] for proof in record["proof"])
    assert (record["open_items"], record["standing"]) == ([], [])


def test_findings_stand_in_order_and_what_was_taken_back_does_not_count(record: dict[str, Any]) -> None:
    """The wrong answer is there, marked; the one that was not sure is marked too."""
    found = {finding["entry"]: finding for finding in record["findings"]}
    assert list(found) == sorted(found)
    assert (found[10]["counts"], found[12]["counts"], found[13]["sure"]) == (False, True, False)


def test_a_reading_has_limit_reference_instrument_and_calibration(record: dict[str, Any]) -> None:
    """All that was typed."""
    readings = [finding["reading"] for finding in record["findings"] if finding["reading"]]
    assert readings == [
        {
            "value": 24.4, "unit": "V", "limit": 23.0, "reference": worked.REFERENCE, "instrument": "meter 4",
            "calibrated": "2031-11",
        }
    ]  # fmt: skip


def test_the_last_ranking_is_the_belief_of_the_case(record: dict[str, Any]) -> None:
    """The picture ends where belief ends, and begins with what the pilot said alone."""
    book, entries = worked.book(), worked.closed()
    belief = Believer(book).believe(add_up(book, entries).beliefs())
    for cause in record["moves"]["causes"]:
        assert cause["values"][-1] == pytest.approx(belief.as_it_was[cause["fault"]])
    assert record["moves"]["steps"][0]["label"] == "squawk"
    assert record["unlisted"] == pytest.approx(belief.unlisted)


def test_every_step_of_the_picture_has_a_value_for_every_cause(record: dict[str, Any]) -> None:
    """Lists of one length, probabilities all."""
    moves = record["moves"]
    count = len(moves["steps"])
    lines = [cause["values"] for cause in moves["causes"]] + [moves["unlisted"]]
    assert {len(line) for line in lines} == {count}
    assert all(0 <= value <= 1 for line in lines for value in line)


def test_what_was_ruled_out_was_likely_once_and_names_what_spoke_against_it(record: dict[str, Any]) -> None:
    """Answers of the case, with the weight of evidence that belief gives them."""
    assert record["ruled_out"]
    entries = {finding["entry"] for finding in record["findings"]}
    for one in record["ruled_out"]:
        assert one["now"] < 0.01
        assert {by["entry"] for by in one["by"]} <= entries
        assert all(by["bits"] < 0 for by in one["by"])


def test_what_spoke_against_a_cause_moved_it_by_so_much(record: dict[str, Any]) -> None:
    """Each named answer's bits are the step of the log odds from the case before that entry to the case with it."""
    book, entries = worked.book(), worked.closed()
    believer = Believer(book)

    @cache
    def belief(number: int) -> Belief:
        return believer.believe(add_up(book, entries[:number]).beliefs())

    def odds(number: int, fault: str) -> float:
        return belief(number).log_odds(fault)

    spoke = [(one["fault"], by["entry"], by["bits"]) for one in record["ruled_out"] for by in one["by"]]
    repaired = next(e.number for e in entries if e.kind == "did")
    assert min(entry for _, entry, _ in spoke) < repaired < max(entry for _, entry, _ in spoke)
    for fault, entry, bits in spoke:
        assert bits == pytest.approx(odds(entry, fault) - odds(entry - 1, fault), abs=0.01), (fault, entry)


def test_what_stands_is_told_with_the_moment_since_when(halfway: dict[str, Any]) -> None:
    """And what keeps the case open."""
    since = {condition["id"]: condition["since"] for condition in halfway["standing"]}
    assert since["on-jacks"] > since["motor-breaker-pulled"]
    assert any("still stands" in item for item in halfway["open_items"])


def test_cautions_name_the_steps_that_they_came_before(record: dict[str, Any]) -> None:
    """By the log: shown and acknowledged."""
    shown = {caution["id"]: caution["before"] for caution in record["cautions"]}
    assert len(shown["breaker-is-the-safety"]) == 2
    assert len(shown["jacking-points-and-lowering"]) == 1


def test_the_json_comes_back_as_the_case(record: dict[str, Any]) -> None:
    """Entries with digests that still hold."""
    entries = papers.entries_of(json.loads(papers.as_json(record)))
    assert entries == worked.closed()
    assert verify(entries) is None


def test_any_text_survives_the_round_trip() -> None:
    """Lone surrogates, null characters and all."""
    entries = worked.log(*worked.opened("\ud800 \x00 \u202e Ω"))
    text = papers.as_json(papers.record(worked.book(), "x", entries))
    assert papers.entries_of(json.loads(text.encode("utf-8"))) == entries


@pytest.mark.parametrize(
    ("paper", "wrong"),
    [
        ([], "not a troubleshooting record"),
        ({"paper": "entry"}, "not a troubleshooting record"),
        ({"paper": "record", "format": 2}, "format 2"),
        ({"paper": "record", "format": 1, "entries": []}, "no entries"),
        ({"paper": "record", "format": 1, "entries": [1]}, "entry 1"),
        ({"paper": "record", "format": 1, "entries": [{"number": "1", "data": {}}]}, "entry 1"),
    ],
)
def test_what_is_no_record_is_refused(paper: Any, wrong: str) -> None:
    """With what is wrong."""
    with pytest.raises(BadCase, match=wrong):
        papers.entries_of(paper)


def test_a_case_without_a_squawk_has_a_record() -> None:
    """Stopped after its first entry."""
    record = papers.record(worked.book(), "x", worked.log(worked.opened()[0]))
    assert record["moves"]["steps"] == []
    assert papers.as_markdown(record)


def test_two_hundred_entries_fit() -> None:
    """The picture is thinned, first and last kept; nothing else is."""
    asked = [worked.book().checks[check] for check in ("motor-heard", "horn-on-selecting-up")] * 35
    answers = [("answer", {"check": c.id, "outcome": c.outcomes[-1].id, "sure": True}) for c in asked]
    notes = [("note", {"text": f"note {number}"}) for number in range(121)]
    record = papers.record(worked.book(), "x", worked.log(*worked.opened(), *notes, *answers))
    steps = record["moves"]["steps"]
    assert len(steps) == MOST_STEPS
    assert (steps[0]["entry"], steps[-1]["entry"]) == (4, 200)
    assert (len(record["findings"]), len(record["notes"])) == (70, 121)


def test_the_course_has_a_line_for_every_entry_that_says_something() -> None:
    """Undone ones are marked; an entry of another version's kind is no error."""
    entries = worked.log(*worked.first_half(), ("from-later", {"x": 1}))
    lines = history(worked.book(), entries)
    assert any(line.startswith("10. ") and line.endswith("(undone later)") for line in lines)
    assert "does not know" in lines[-1]


def test_a_log_that_names_what_the_book_lost_is_still_told() -> None:
    """A check and a condition that were never there."""
    new = [("answer", {"check": "gone", "outcome": "x", "sure": True}), ("set-up", {"condition": "gone"})]
    lines = history(worked.book(), worked.log(*worked.opened(), *new))
    assert all("does not have" in line for line in lines[-2:])


def documented(heading: str) -> set[str]:
    """The keys that the developers' page names in the table with this heading."""
    text = (Path(__file__).resolve().parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.split(f"| {heading} | holds |\n", 1)[1].split("\n\n", 1)[0]
    return {key for row in table.splitlines()[1:] for key in re.findall(r"`(\w+)`", row.split("|")[1])}


@pytest.mark.parametrize(
    ("heading", "make"),
    [("a record", papers.record), ("a handover sheet", papers.handover), ("a draft entry", papers.entry)],
)
def test_the_keys_are_those_that_are_documented(heading: str, make: Any) -> None:
    """Every key of a paper stands on the developers' page, and no other."""
    made = make(worked.book(), "x", worked.closed())
    assert set(made) == documented("key of every paper") | documented(f"key of {heading}")


@pytest.fixture(scope="module")
def in_words() -> list[CaseEntry]:
    """A repair in the mechanic's own words, and the proof passed after it."""
    book = worked.book()
    work: list[worked.New] = [*worked.opened(), ("did-other", {"text": "renewed the lead"})]
    owed = add_up(book, worked.log(*work)).owed(book)
    return worked.log(*work, *(
        ("answer", {"check": check, "outcome": book.checks[check].outcomes[-1].id, "sure": True}) for check in owed
    ))  # fmt: skip


def test_what_still_stands_is_not_known_after_a_repair_in_own_words(in_words: list[CaseEntry]) -> None:
    """No figure for it, and a sentence that says why."""
    told = papers.record(worked.book(), "2031-03-14-1", in_words)
    assert [cause["now"] for cause in told["ranking"]] == [None] * len(told["ranking"])
    words = papers.as_markdown(told)
    assert "not known to the book" in words
    assert "that it still stands" not in words


@pytest.mark.parametrize("form", [papers.as_html, lambda paper: pdf_text(papers.as_pdf(paper))], ids=["html", "pdf"])
def test_a_column_of_what_is_not_known_is_left_out(in_words: list[CaseEntry], form: Callable[[Any], str]) -> None:
    """On pages as well."""
    told = squeezed(form(papers.record(worked.book(), "2031-03-14-1", in_words)))
    assert squeezed("not known to the book") in told
    assert squeezed("Stands now") not in told


def test_a_repair_in_own_words_without_its_proof_hides_nothing(in_words: list[CaseEntry]) -> None:
    """As long as the squawk may still be there the figures stand."""
    told = papers.record(worked.book(), "2031-03-14-1", in_words[: len(worked.opened()) + 1])
    assert told["not_known"] == ""
    assert all(cause["now"] is not None for cause in told["ranking"])


def test_the_weight_of_evidence_is_for_programs(record: dict[str, Any]) -> None:
    """Bits stand in the JSON; nobody reads them on paper."""
    assert record["ruled_out"][0]["by"][0]["bits"] < 0
    assert not re.search(r"\bbits\b", papers.as_markdown(record))
