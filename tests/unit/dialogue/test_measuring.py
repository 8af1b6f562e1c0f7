"""A reading: the limit with its reference first, then the instrument, then the value; nothing is made up."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree.book import read_book
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import Dialogue, Prompt, Reply, measuring
from faulttree.errors import BadAnswer
from faulttree.units import Quantity
from faulttree_cli.places import shipped_book

CHECK = "bus-volts"
LIMIT: dict[str, Any] = {"value": 11.5, "unit": "V", "reference": "manual 24-30, rev. 7"}
METER: dict[str, Any] = {"name": "meter 4", "calibrated": "2027-01"}


@pytest.fixture(scope="module")
def book() -> Book:
    found = read_book([shipped_book()], "electromechanical").book
    assert found is not None
    return found


def limit_id(book: Book) -> str:
    reading = book.checks[CHECK].reading
    assert reading is not None
    return reading.limit


def state(book: Book, *more: tuple[str, dict[str, Any]], limits: bool = False) -> CaseState:
    profile = {limit_id(book): LIMIT} if limits else {}
    new: list[tuple[str, dict[str, Any]]] = [
        ("opened", {"family": book.family, "fitted": [], "job": "QQ-ELM", "limits": profile}),
        ("squawk", {"text": "stays down"}),
        ("symptom", {"symptom": "will-not-retract", "present": True}),
        ("started", {"kind": "check", "id": CHECK}),
        *more,
    ]
    return add_up(book, [CaseEntry(i, "", "mechanic", kind, data) for i, (kind, data) in enumerate(new, 1)])


def asked(book: Book, now: CaseState, view: str = "measure") -> Prompt:
    prompt = Dialogue(book).prompt(now, view)
    assert prompt is not None
    return prompt


def reply(book: Book, now: CaseState, typed: str, view: str = "measure") -> Reply:
    return Dialogue(book).accept(now, asked(book, now, view), typed)


def test_the_limit_is_asked_first(book: Book) -> None:
    """Without one in the profile, and with the typical value marked as such."""
    prompt = asked(book, state(book))
    assert prompt.topic == "limit"
    assert any("confirm in the manual" in line for line in prompt.lines)


def test_a_limit_without_a_reference_is_not_taken(book: Book) -> None:
    """Where it stands is part of it."""
    found = reply(book, state(book), "11.5 V")
    assert (found.entries, found.view) == ((), "measure")


def test_a_limit_with_its_reference_is_an_entry(book: Book) -> None:
    """A plus keeps it in the profile too."""
    data = reply(book, state(book), "+11.5 V; manual 24-30, rev. 7").entries[0].data
    assert data == {**LIMIT, "limit": limit_id(book), "keep": True}


def test_the_profile_s_limit_is_not_asked_for(book: Book) -> None:
    """The instrument comes next."""
    assert asked(book, state(book, limits=True)).topic == "instrument"


def test_a_reading_is_an_entry_with_all_that_a_record_needs(book: Book) -> None:
    """Value, unit, limit, where the limit comes from, instrument and calibration."""
    now = state(book, ("instrument", METER), limits=True)
    data = reply(book, now, "11200 mV").entries[0].data
    assert (data["value"], data["unit"], data["limit"]) == (pytest.approx(11.2), "V", 11.5)
    assert data["reference"] == LIMIT["reference"]
    assert (data["instrument"], data["calibrated"]) == ("meter 4", "2027-01")


def test_a_limit_given_in_the_case_goes_before_the_profile_s(book: Book) -> None:
    """The later revision of the manual wins."""
    newer = {"limit": limit_id(book), "value": 12.0, "unit": "V", "reference": "rev. 8", "keep": False}
    now = state(book, ("instrument", METER), ("limit", newer), limits=True)
    assert reply(book, now, "11.8 V").entries[0].data["reference"] == "rev. 8"


def test_a_bare_number_is_told_with_its_unit(book: Book) -> None:
    """It is taken in the unit of the limit, and the next screen says which that was."""
    found = reply(book, state(book, ("instrument", METER), limits=True), "11.2")
    assert (found.entries[0].data["value"], found.entries[0].data["unit"]) == (11.2, "V")
    assert found.say == "Taken: 11.2 V."


def test_a_reading_far_beyond_its_limit_is_taken_with_a_doubt(book: Book) -> None:
    """Fifty times the limit is more likely a slip; it is said how to take it back."""
    found = reply(book, state(book, ("instrument", METER), limits=True), "550 V")
    assert found.entries[0].kind == "reading"
    assert "times the limit: u takes it back" in found.say


@pytest.mark.parametrize("typed", ["11.2 psi", "eleven", "1,234 V", "1,234"])
def test_what_is_no_reading_is_asked_again(book: Book, typed: str) -> None:
    """With a sentence, and without an entry."""
    found = reply(book, state(book, ("instrument", METER), limits=True), typed)
    assert found.entries == ()
    assert found.say


def test_another_instrument_can_be_named(book: Book) -> None:
    """i asks for it, and it holds from then on for what is measured in the same unit."""
    now = state(book, ("instrument", METER), limits=True)
    assert reply(book, now, "i").view == "instrument"
    assert reply(book, now, "meter 9", "instrument").entries[0].data == {
        "name": "meter 9", "calibrated": "", "unit": "V",
    }  # fmt: skip


def test_a_voltmeter_is_not_taken_for_a_reading_of_another_kind(book: Book) -> None:
    """The instrument is asked for once for each unit."""
    now = state(book, ("instrument", {**METER, "unit": "psi"}), limits=True)
    asked = measuring.prompt(book, now, book.checks["bus-volts"], "measure")
    assert asked.topic == "instrument"


def test_what_is_below_nothing_is_refused() -> None:
    """A length, a pressure, a force is 0 or more; a voltage may be below."""
    with pytest.raises(BadAnswer, match="below nothing"):
        measuring.sensible(Quantity(-3.0, "psi"))
    assert measuring.sensible(Quantity(-3.0, "V")) == Quantity(-3.0, "V")
