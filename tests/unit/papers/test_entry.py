"""The draft entry: fields of 14 CFR 43.9(a), nothing signed, nothing approved, none of the words that are not ours."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from typing import Any

import pytest

from faulttree import papers
from faulttree.errors import FaulttreeError
from faulttree.papers.entry import RESERVED
from tests.support import worked

FORBIDDEN = re.compile(r"\bairworthy\b|return(ed)?\s+to\s+service|\boverhauled\b|\brebuilt\b", re.IGNORECASE)
"""14 CFR 43.2 (overhauled, rebuilt) and 43.5, 43.9, 43.11 (approval, airworthy)."""


def draft(rules: str = "us", *more: worked.New) -> dict[str, Any]:
    entries = worked.log(*worked.first_half(), *more) if more else worked.closed()
    return papers.entry(worked.book(), "2031-03-14-1", entries, rules)


def test_the_fields_are_those_of_the_rule() -> None:
    """14 CFR 43.9(a): (1) description or data, (2) date, (3) name, (4) signature, certificate number and kind."""
    told = {field["id"]: field["why"] for field in draft()["fields"]}
    for name, paragraph in (
        ("description", "43.9(a)(1)"), ("date", "43.9(a)(2)"), ("performed-by", "43.9(a)(3)"),
        ("signature", "43.9(a)(4)"), ("certificate-number", "43.9(a)(4)"), ("certificate-kind", "43.9(a)(4)"),
    ):  # fmt: skip
        assert paragraph in told[name]


@pytest.mark.parametrize("rules", papers.rules_known())
def test_nothing_that_a_person_answers_for_is_filled_in(rules: str) -> None:
    """Date, name, signature, certificate: blank under every rules, whatever the case holds."""
    blank = {f["id"] for f in draft(rules)["fields"] if not f["filled"]}
    assert {"date", "performed-by", "signature"} <= blank
    assert all(f["value"] == "" for f in draft(rules)["fields"] if not f["filled"])


def test_other_registries_are_told_to_look_up_their_own_rules() -> None:
    """The draft defers to them."""
    assert "state of registry" in draft("other")["rules"]["note"]
    assert all(field["why"] != "" for field in draft("other")["fields"])


def test_the_description_says_what_was_found_done_and_proved() -> None:
    """With the reading, its limit and where that stands, the instrument, the repair and the proof."""
    text = " ".join(draft()["description"])
    for words in ("24.4 V, limit 23 V", worked.REFERENCE, "meter 4", "Rewire the ground-safety lead".lower(), "Proof:"):
        assert words.lower() in text.lower()


def test_a_proof_that_was_measured_says_what_was_read() -> None:
    """The value, its limit and where that stands, not only that it was well."""
    book = worked.book()
    action = next(a for a in book.actions.values() if any(book.checks[c].reading for c in a.follow_up))
    check = next(book.checks[c] for c in action.follow_up if book.checks[c].reading)
    assert check.reading is not None
    read = {
        "check": check.id, "value": 7.25, "unit": check.reading.unit, "limit": 9.5, "limit_id": check.reading.limit,
        "reference": "MM 32-30", "weights": [*[0.0] * (len(check.outcomes) - 1), 1.0], "typed": "7.25",
    }  # fmt: skip
    text = " ".join(draft("us", ("did", {"action": action.id}), ("reading", read))["description"])
    assert f"{check.name}: ".lower() in text.lower()
    assert f"(7.25 {check.reading.unit}, limit 9.5 {check.reading.unit} from MM 32-30)" in text


def test_a_repair_that_may_be_done_in_two_ways_wants_to_be_told_apart() -> None:
    """14 CFR 43.9(a)(1) asks for the work performed; "renew or set" describes none."""
    book = worked.book()
    either = next(a for a in book.actions.values() if " or " in a.name)
    plain = next(a for a in book.actions.values() if " or " not in a.name)
    text = " ".join(draft("us", *(("did", {"action": a.id}) for a in (either, plain)))["description"])
    assert (text.count("(say which was done)"), f"{either.name[1:]} (say which" in text) == (1, True)


def test_what_was_taken_back_is_not_in_it() -> None:
    """The wrong answer of the case."""
    assert "Horn blew" not in " ".join(draft()["description"])


def test_what_is_open_has_to_be_seen_before_it_is_signed() -> None:
    """A case in the middle: what stands, what is not proved."""
    remarks = " ".join(draft("us", ("note", {"text": "x"}))["remarks"])
    assert worked.book().conditions["on-jacks"].name in remarks
    assert "not proved" in remarks


RESERVED_WORDS = [
    "AIRWORTHY", "air-worthy", "air worthiness", "return to service", "return-to-service", "released to service",
    "returned the aircraft to service", "back in service", "released for flight", "overhauled", "over-hauled",
    "rebuilt", "re-built", "approved", "approved for", "approval",
]  # fmt: skip


@pytest.mark.parametrize("words", RESERVED_WORDS)
def test_typed_words_that_only_a_signer_may_write_are_left_out(words: str) -> None:
    """The find and the repair in words are not in the draft; which entry, and why, is."""
    more = [("found-other", {"text": f"switch {words} by hand"}), ("did-other", {"text": f"pump {words} again"})]
    found = draft("us", *more)
    text = " ".join([*found["description"], *found["remarks"], *found["references"]])
    assert words.lower() not in text.lower()
    assert len(found["left_out"]) == 2
    assert "14 CFR 43.2" in found["left_out"][0]


HARMLESS = ["the springs are built in", "returned the pin to its bag", "serviced the strut", "worthless contact"]


@pytest.mark.parametrize("words", HARMLESS)
def test_plain_words_of_the_trade_stay(words: str) -> None:
    """What says nothing about release or approval is kept as typed."""
    found = draft("us", ("found-other", {"text": words}))
    assert words in " ".join(found["description"])
    assert found["left_out"] == []


@pytest.mark.parametrize("typed", ["job", "voltage", "profile"])
def test_no_typed_word_of_the_head_says_more_than_a_draft_may(typed: str) -> None:
    """Registration or job, voltage and the profile's name are typed; each is left out alone, with the reason."""
    opened = {
        "job": "TEST 1", "voltage": "14 V", "aircraft": {"name": "TEST 1", "version": 2},
        **({"aircraft": {"name": "air-worthy", "version": 2}} if typed == "profile" else {typed: "air-worthy"}),
    }  # fmt: skip
    log = worked.first_half()
    first = (log[0][0], {**log[0][1], **opened})
    found = papers.entry(worked.book(), "2031-03-14-1", worked.log(first, *log[1:]))
    assert all("air-worthy" not in text for text in strings(found))
    assert len(found["left_out"]) == 1


def test_a_proof_that_nobody_was_sure_of_is_told_as_none() -> None:
    """Neither as a proof nor as passed, in the entry and in the record in every form that is text; it stays open."""
    entries = worked.closed(sure=False)
    made = papers.entry(worked.book(), "x", entries)
    assert not any(line.startswith("Proof") for line in made["description"])
    assert any(line.startswith("No proof, not sure") for line in made["description"])
    assert any("answered as not sure" in line for line in made["remarks"])
    record = papers.record(worked.book(), "x", entries)
    assert record["proof"]
    assert not any(proof["passed"] or proof["sure"] for proof in record["proof"])
    assert "No proof, not sure" in papers.as_markdown(record)
    assert "no proof: not sure" in papers.as_html(record)


def test_rules_that_are_not_known_are_refused() -> None:
    """With those that are."""
    with pytest.raises(FaulttreeError, match="us, other"):
        draft("moon")


def strings(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for part in value.values() for text in strings(part)]
    if isinstance(value, list | tuple):
        return [text for part in value for text in strings(part)]
    if is_dataclass(value):
        return [text for field in fields(value) for text in strings(getattr(value, field.name))]
    return []


def test_no_paper_generates_the_words_that_are_not_ours() -> None:
    """Every text of every paper of cases whose own words are harmless, in every form that is text."""
    book = worked.book()
    for entries in (worked.closed(), worked.half_worked()):
        made = [papers.record(book, "x", entries), papers.handover(book, "x", entries)]
        made += [papers.entry(book, "x", entries, rules) for rules in papers.rules_known()]
        for paper in made:
            for text in (*strings(paper), papers.as_markdown(paper), papers.as_html(paper)):
                assert FORBIDDEN.search(text) is None, text


def test_no_text_of_the_book_can_bring_such_a_word_into_a_paper() -> None:
    """Names, labels, steps, parts and cautions of the shipped book have none of them."""
    book = worked.book()
    parts = (book.checks, book.actions, book.conditions, book.faults, book.symptoms, book.circumstances, book.limits)
    found = [text for part in parts for text in strings(dict(part)) if FORBIDDEN.search(text)]
    assert found == []


def test_what_is_reserved_covers_what_is_forbidden() -> None:
    """The words left out of a draft are at least those that may never be generated."""
    for words in ("airworthy", "returned to service", "return to service", "overhauled", "rebuilt"):
        assert RESERVED.search(words)
        assert FORBIDDEN.search(words)
