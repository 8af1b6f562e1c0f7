"""Why a step is suggested: its sentences, one at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from faulttree.advice import Situation, Suggestion
from faulttree.advice.situation import OutcomeAhead
from faulttree.advice.why import explain
from faulttree.book.model import Book
from tests.support.small_family import small_book

STUCK, CHAFED, WORN = "guard-switch.stuck", "guard-switch.lead-chafed", "motor.brushes-worn"
STEP = Suggestion("check", "switch-continuity", "Continuity", 100.0, 10.0)


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def why(book: Book, saves: float = 0.0, rival: Suggestion | None = None, standing: Any = (), **fields: Any) -> str:
    return explain(book, replace(STEP, **fields), saves, Situation(standing=frozenset(standing)), rival)


def ahead(*faults: str | None) -> tuple[OutcomeAhead, ...]:
    return tuple(OutcomeAhead(f"o{i}", "", 0.1, fault) for i, fault in enumerate(faults))


@pytest.mark.parametrize(
    ("fields", "purpose"),
    [
        ({"owed": True}, "Due after the repair."),
        ({"leads_to": "mend-lead"}, "Shows whether it is so, before this is done: Mend the lead."),
        ({"leads_to": "cycle-test"}, "Has to come before: Cycle on jacks."),
        ({"kind": "act", "chance": 0.5}, "Cures it: about 5 in 10. The proof after it tells."),
        ({"kind": "act", "chance": None}, "Cures it: hardly. The proof after it tells."),
        ({"outcomes": ahead(STUCK, STUCK, None)}, "Makes the likeliest cause surer or less sure."),
        ({"outcomes": ahead()}, "Makes the likeliest cause surer or less sure."),
    ],
    ids=["due", "before a repair", "before a check", "a repair", "a repair of no chance", "one cause", "no outcomes"],
)
def test_what_a_step_is_for(book: Book, fields: dict[str, Any], purpose: str) -> None:
    """The first sentence."""
    assert why(book, **fields) == f"{purpose} Takes 10 min."


def test_a_step_tells_apart_what_leads_after_it(book: Book) -> None:
    """Each cause once, up to three; that there are more is said."""
    names = [book.faults[fault].name for fault in (STUCK, CHAFED, WORN)]
    assert why(book, outcomes=ahead(STUCK, CHAFED)).startswith(f"Tells apart: {names[0]}; {names[1]}. Takes")
    assert why(book, outcomes=ahead(STUCK, CHAFED, WORN, None)).startswith(f"Tells apart: {'; '.join(names)}. Takes")
    more = replace(book, faults={**book.faults, "x": replace(book.faults[STUCK], id="x")})
    assert why(more, outcomes=ahead(STUCK, CHAFED, WORN, "x")).startswith(
        f"Tells apart: {'; '.join(names)}; and others. Takes"
    )


def test_what_is_moved_for_it_is_told(book: Book) -> None:
    """What is put back first, what is set up, and what stands already and stays."""
    told = why(
        book, standing=("on-jacks", "crank-engaged"), to_restore=("crank-engaged",), to_set_up=("gear-powered",),
        needs=("on-jacks", "gear-powered"),
    )  # fmt: skip
    names = {name: book.conditions[name].name for name in ("on-jacks", "gear-powered")}
    back = book.conditions["crank-engaged"].put_back
    assert told.endswith(
        f" Takes 10 min, before it: {back}, sets up: {names['gear-powered']}; stands already: {names['on-jacks']}."
    )


def test_what_is_set_up_early_is_told(book: Book) -> None:
    """By name, and that it would be barred later."""
    assert why(book, also=("floor-panel-out",)).endswith(
        f" Not needed yet, but barred later: {book.conditions['floor-panel-out'].name}."
    )


@pytest.mark.parametrize(
    ("saves", "fields", "told"),
    [(30.0, {}, True), (1.0, {}, True), (0.9, {}, False), (30.0, {"owed": True}, False)],
    ids=["half an hour", "a minute", "less", "due anyway"],
)
def test_what_it_saves_is_told_from_a_minute_on(book: Book, saves: float, fields: dict[str, Any], told: bool) -> None:
    """Against the next best way, by name; not of what is due."""
    rival = replace(STEP, name="Another way")
    assert ("against the next best way: Another way." in why(book, saves, rival, **fields)) is told


def test_without_another_way_nothing_is_saved(book: Book) -> None:
    """There is nothing to hold it against."""
    assert "Saves" not in why(book, 30.0, None)


def test_a_specialist_ends_the_job(book: Book) -> None:
    """Nothing of causes or minutes."""
    assert why(book, kind="help").startswith("A specialist ends the job")
