"""Which closed cases count, and what their checks count for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.workshop import finds
from faulttree.workshop.finds import Alone, Find, Reading, find_in, tallies, written_check, written_fault
from tests.support.books import check, fault, make_book
from tests.support.closed_cases import New, answer, closed, entries, one_repair_for_the_switch
from tests.support.small_family import small_book

STUCK, CHAFED, WORN = "guard-switch.stuck", "guard-switch.lead-chafed", "motor.brushes-worn"
NEW_SWITCH = "replace-guard-switch"


def outcome(*log: New) -> Find | str:
    """What a case comes to where one repair mends two faults."""
    book = one_repair_for_the_switch()
    return find_in(closed(book, *log), Alone(book))


def found_by(*log: New) -> str:
    """What its cause was found by."""
    found = outcome(*log)
    assert isinstance(found, Find)
    return found.by


def test_a_cause_that_was_seen_counts() -> None:
    """Whatever else the repair mends."""
    assert found_by(*entries(STUCK, ("found", {"fault": STUCK}), action=NEW_SWITCH)) == finds.SEEN


def test_a_cause_that_was_only_named_does_not() -> None:
    """The new switch has its lead too: either may have been it."""
    assert outcome(*entries(STUCK, action=NEW_SWITCH)) == finds.GUESSED


def test_a_find_that_was_taken_back_does_not() -> None:
    """What is undone never was."""
    log = entries(STUCK, ("found", {"fault": STUCK}), ("undone", {"entry": 3}), action=NEW_SWITCH)
    assert outcome(*log) == finds.GUESSED


def test_a_cause_that_the_repair_mends_alone_counts() -> None:
    """New brushes cure nothing but worn ones."""
    assert found_by(*entries(WORN)) == finds.MENDED_ALONE


def test_a_cause_that_a_check_showed_alone_counts() -> None:
    """An open contact is the switch, not its lead."""
    assert found_by(*entries(STUCK, answer("switch-continuity", "open"), action=NEW_SWITCH)) == finds.SHOWN_ALONE


def test_an_answer_in_doubt_shows_nothing_alone() -> None:
    """Whoever was not sure did not find it."""
    doubt = ("answer", {"check": "switch-continuity", "outcome": "open", "sure": False})
    assert outcome(*entries(STUCK, doubt, action=NEW_SWITCH)) == finds.GUESSED


def test_the_check_that_told_the_cause_does_not_prove_itself() -> None:
    """Its answer is no trial of it; the question beside it is."""
    log = entries(STUCK, answer("motor-sound", "silent"), answer("switch-continuity", "open"), action=NEW_SWITCH)
    found = outcome(*log)
    assert isinstance(found, Find)
    assert [reading.check for reading in found.readings] == ["motor-sound"]


def test_a_cause_in_words_is_not_one_of_the_book() -> None:
    """It counts for nothing that the book has."""
    assert outcome(*entries(None, ("found-other", {"text": "a mouse"}))) == finds.IN_WORDS


@pytest.mark.parametrize(
    ("between", "taught", "counts"),
    [(("found-other", {"text": "a mouse"}), WORN, True), (("found-other", {"text": "a mouse"}), "", False),
     (("note", {"text": "a mouse"}), WORN, False)],
)  # fmt: skip
def test_a_cause_in_words_counts_once_it_was_taught(between: New, taught: str, counts: bool) -> None:
    """As seen, for whoever said it had found it; named and not found it does not."""
    book = small_book()
    case = replace(closed(book, *entries(None, between)), taught=taught)
    found = find_in(case, Alone(book))
    assert isinstance(found, Find) == counts
    if isinstance(found, Find):
        assert (found.fault, found.by) == (WORN, finds.SEEN)


def test_a_cause_that_is_gone_from_the_book_is_told() -> None:
    """As what became of it, not as a count."""
    book = make_book(faults=[fault("a.x"), fault("b.x")], symptoms=[])
    case = closed(small_book(), *entries(STUCK))
    assert find_in(finds.ClosedCase(case.name, case.entries, case.book, book), Alone(book)) == finds.GONE


def test_a_cause_that_does_not_bring_the_squawk_about_is_told() -> None:
    """As a fault of the book or of the case, not as a count."""
    book = small_book()
    today = replace(book, symptoms={"stays-down": replace(book.symptoms["stays-down"], when=WORN)})
    case = closed(book, *entries(STUCK, ("found", {"fault": STUCK})))
    assert find_in(finds.ClosedCase(case.name, case.entries, book, today), Alone(today)) == finds.ELSEWHERE


def test_a_repair_beside_one_in_own_words_tells_nothing_alone() -> None:
    """It may have been that one that mended it."""
    assert outcome(*entries(WORN, ("did-other", {"text": "cleaned the plug"}))) == finds.GUESSED


def test_a_cause_that_may_sleep_is_awake_by_its_share_and_the_check() -> None:
    """Share 0.7, shows 0.3, woken 0.8: 1 - 0.7 x 0.7 x 0.2 (own arithmetic); about the squawk it was awake."""
    log = entries(
        CHAFED, ("found", {"fault": CHAFED}), answer("switch-continuity", "steady"), answer("motor-sound", "silent")
    )
    found = outcome(*log)
    assert isinstance(found, Find)
    awake = {reading.check: reading.awake for reading in found.readings}
    assert awake == {"switch-continuity": pytest.approx(0.902), "motor-sound": 1.0}


def test_what_came_after_the_repair_is_no_trial() -> None:
    """A case closes only on checks that show nothing: they would teach that checks give no false alarm."""
    found = outcome(*entries(WORN, answer("motor-sound", "hummed")), answer("switch-continuity", "steady"))
    assert isinstance(found, Find)
    assert [reading.check for reading in found.readings] == ["motor-sound"]


def test_a_repeat_is_no_second_trial() -> None:
    """It mostly repeats its error."""
    found = outcome(*entries(WORN, answer("motor-sound", "silent"), answer("motor-sound", "silent")))
    assert isinstance(found, Find)
    assert len(found.readings) == 1


def test_legs_stand_once_in_the_files() -> None:
    """A fault and a check of one leg by the ids of the entries that they came from."""
    assert written_fault(fault("down-lock-left.dry", leg="left", component="down-lock")) == "down-lock.dry"
    assert written_check(check("look-at-lock-nose", leg="nose")) == "look-at-lock"
    assert written_fault(fault("horn-left.dead")) == "horn-left.dead"


@pytest.mark.parametrize(("shown", "held"), [(0, 1.0), (2, 1.0)])
def test_a_fault_that_is_awake_counts_whole(shown: int, held: float) -> None:
    """Shown or missed: no part of it may have slept."""
    tally = tallies(small_book(), [Reading("switch-continuity", shown, 0, 1.0)])["switch-continuity"]
    assert (sum(tally.shown.values()), sum(tally.missed.values())) == ((held, 0.0) if shown == 0 else (0.0, held))
    assert (tally.quiet, tally.alarms) == (0.0, 0.0)


def test_a_miss_of_a_fault_that_may_sleep_counts_in_part() -> None:
    """Awake 1 in 2 and missed 0.05 x 0.98 / 0.99, asleep 1 in 2 and quiet 0.98 (own arithmetic): 1 in 20.8."""
    tally = tallies(small_book(), [Reading("switch-continuity", 2, 1, 0.5)])["switch-continuity"]
    awake, asleep = 0.5 * 0.05 * 0.98 / 0.99, 0.5 * 0.98
    assert tally.missed == {"jumps": pytest.approx(awake / (awake + asleep))}
    assert tally.quiet == pytest.approx(asleep / (awake + asleep))
