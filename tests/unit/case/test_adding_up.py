"""What each kind of entry does to the state of a case, one at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from faulttree.belief import Answer, Denied, Reported
from faulttree.book.model import Book, OpeningAnswer, OpeningQuestion
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.case.state import Instrument, KnownLimit, Step
from faulttree.errors import BadCase
from tests.support.small_family import small_book

New = tuple[str, dict[str, Any]]

LIMIT = {"value": 40.0, "unit": "A", "reference": "MM 32-30"}
OPENED: New = ("opened", {"family": "made-up", "fitted": [], "limits": {"current": LIMIT}})
SYMPTOM: New = ("symptom", {"symptom": "stays-down", "present": True})
STARTED: New = ("started", {"kind": "check", "id": "cycle-test"})
READ: New = ("cautions", {"step": "cycle-test", "cautions": ["a", "b"]})
REPAIR: New = ("did", {"action": "mend-lead"})
OPEN: New = ("answer", {"check": "switch-continuity", "outcome": "open"})
UNSURE: New = ("answer", {"check": "switch-continuity", "outcome": "open", "sure": False})
REMAINS: New = ("answer", {"check": "cycle-test", "outcome": "remains"})
GONE: New = ("answer", {"check": "cycle-test", "outcome": "gone"})


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def state(book: Book, *new: New) -> CaseState:
    return add_up(book, [CaseEntry(i, "", f"m{i}", kind, data) for i, (kind, data) in enumerate([OPENED, *new], 1)])


def test_a_case_just_begun_says_nothing_of_itself(book: Book) -> None:
    """No hours that were assumed, and no case that was put away."""
    begun = state(book)
    assert (begun.hours_assumed, begun.archived, begun.cause_in_words) == (False, False, "")


def test_a_kind_that_is_not_known_is_refused(book: Book) -> None:
    """By number and kind: a later version wrote it."""
    with pytest.raises(BadCase, match="entry 2 is of a kind that this version does not know: 'of-a-later-version'"):
        state(book, ("of-a-later-version", {}))


def test_an_entry_that_cannot_be_used_is_refused(book: Book) -> None:
    """A reading of a check that the book does not have."""
    with pytest.raises(BadCase, match=r"entry 2 \(reading\) does not fit"):
        state(book, ("reading", {"check": "gone", "weights": [1.0, 0.0]}))


def test_who_wrote_last_works_the_case(book: Book) -> None:
    """By the entry that stands last."""
    assert state(book, SYMPTOM, REPAIR).who == "m3"


def test_what_a_profile_says_holds_from_there_on(book: Book) -> None:
    """Its limits beside those that the case was opened with."""
    other = {"value": 5.0, "unit": "A", "reference": "MM 32-31"}
    now = state(book, ("knowledge", {"unconfirmed": [], "profile": {"job": "QQ-ELM", "limits": {"idle": other}}}))
    assert now.opened["job"] == "QQ-ELM"
    assert now.opened["family"] == "made-up"
    assert now.limits == {"current": KnownLimit(40.0, "A", "MM 32-30"), "idle": KnownLimit(5.0, "A", "MM 32-31")}


def test_symptoms_are_told_by_what_the_pilot_said(book: Book) -> None:
    """Reported, denied, and what nobody can say; each once."""
    now = state(
        book,
        SYMPTOM,
        SYMPTOM,
        ("symptom", {"symptom": "runs-on", "present": False}),
        ("symptom-untold", {"symptom": "x"}),
    )
    assert (now.reported, now.denied, now.untold) == (["stays-down"], ["runs-on"], ["x"])
    assert now.evidence[1:] == [Reported("stays-down"), Denied("runs-on")]


def test_circumstances_are_kept_once_and_were_asked_for(book: Book) -> None:
    """Also where there are none."""
    assert not state(book).circumstances_asked
    assert state(book, ("circumstance", {"circumstances": []})).circumstances_asked
    wet, both = {"circumstances": ["wet"]}, {"circumstances": ["wet", "cold-soaked"]}
    assert state(book, ("circumstance", wet), ("circumstance", both)).circumstances == ["wet", "cold-soaked"]


def test_hours_may_be_unknown_and_were_asked_for(book: Book) -> None:
    """Nobody is asked twice."""
    assert not state(book).hours_asked
    now = state(book, ("hours", {"hours": None}))
    assert (now.hours, now.hours_asked) == (None, True)
    assert state(book, ("hours", {"hours": 12.5})).beliefs().hours == 12.5


def test_symptoms_are_settled_once_it_is_said(book: Book) -> None:
    """Not before."""
    assert [state(book).symptoms_settled, state(book, ("symptoms-settled", {})).symptoms_settled] == [False, True]


def test_people_and_equipment_are_told_one_at_a_time(book: Book) -> None:
    """What an entry does not name stays as it was."""
    now = state(book, ("at-hand", {"people": 2}), ("at-hand", {"lacking": ["multimeter"]}))
    assert (now.people, now.lacking) == (2, {"multimeter"})


def test_a_step_is_in_hand_from_its_start_to_its_end(book: Book) -> None:
    """Its cautions are read in between; an answer ends it, and so does whoever drops it."""
    assert state(book, STARTED).step == Step("check", "cycle-test")
    assert state(book, STARTED, READ).step == Step("check", "cycle-test", acknowledged=True)
    assert state(book, STARTED, ("set-up", {"condition": "on-jacks"})).step is not None
    assert state(book, STARTED, GONE).step is None
    assert state(book, STARTED, ("dropped", {})).step is None


@pytest.mark.parametrize("again", [("stands", {}), ("found-standing", {"standing": []})], ids=["stands", "otherwise"])
def test_who_takes_a_case_up_has_read_no_caution(book: Book, again: New) -> None:
    """Whoever read them may be somebody else."""
    assert state(book, STARTED, READ).read == {"a", "b"}
    assert state(book, STARTED, READ, again).read == set()


def test_what_ever_stood_is_remembered(book: Book) -> None:
    """With all that it implies, after it was put back too."""
    up: New = ("set-up", {"condition": "gear-powered"})
    now = state(book, up, ("restored", {"condition": "gear-powered"}))
    assert "gear-powered" not in now.standing
    assert {"gear-powered", *book.conditions["gear-powered"].implies} <= now.ever_stood
    assert "on-jacks" in state(book, ("found-standing", {"standing": ["on-jacks"]})).ever_stood


def test_a_limit_found_out_is_kept(book: Book) -> None:
    """In place of what was known before."""
    new = ("limit", {"limit": "current", "value": 45.0, "unit": "A", "reference": "letter"})
    assert state(book, new).limits == {"current": KnownLimit(45.0, "A", "letter")}


def test_instruments_are_kept_by_what_they_measure(book: Book) -> None:
    """One written without a unit is the last used all the same."""
    meter, gauge = {"name": "meter", "calibrated": "2027"}, {"name": "gauge", "calibrated": ""}
    now = state(book, ("instrument", {**meter, "unit": "A"}), ("instrument", gauge))
    assert now.instruments == {"A": Instrument("meter", "2027")}
    assert now.instrument == Instrument("gauge", "")


def test_a_reading_shows_the_outcome_that_weighs_most(book: Book) -> None:
    """And is believed by its weights; nobody doubts a reading."""
    now = state(
        book, ("reading", {"check": "switch-continuity", "weights": [0, 0.75, 0.25], "value": 1, "unit": "ohm"})
    )
    assert (now.shown, now.doubted) == ({"switch-continuity": "jumps"}, set())
    assert now.evidence == [Answer("switch-continuity", (0.0, 0.75, 0.25))]


def test_a_doubt_lasts_until_somebody_is_sure(book: Book) -> None:
    """The doubtful answer weighs less than a sure one."""
    assert state(book, UNSURE).doubted == {"switch-continuity"}
    assert state(book, UNSURE, OPEN).doubted == set()
    answers = [state(book, told).evidence[0] for told in (OPEN, UNSURE)]
    assert [answer.weights[0] for answer in answers if isinstance(answer, Answer)] == [1.0, book.defaults.not_sure]


@pytest.mark.parametrize(
    ("before", "reason", "passed_over"),
    [([], "not-done", True), ([], "cannot-tell", False), ([OPEN], "not-done", False)],
    ids=["not done", "looked at and not told", "done before"],
)
def test_what_was_passed_over_was_never_done(book: Book, before: list[New], reason: str, passed_over: bool) -> None:
    """It is not proposed again in this epoch either way."""
    now = state(book, *before, ("skipped", {"check": "switch-continuity", "reason": reason}))
    assert ("switch-continuity" in now.passed_over) is passed_over
    assert "switch-continuity" in now.done


def test_a_repair_begins_what_was_shown_anew(book: Book) -> None:
    """What a check last showed, and that it was ever done, stays known."""
    now = state(book, SYMPTOM, UNSURE, REPAIR)
    assert (now.done, now.shown, now.doubted) == ([], {}, set())
    assert (now.ever_done, now.last_shown) == ({"switch-continuity"}, {"switch-continuity": "open"})


def test_a_failed_proof_ends_what_led_up_to_it(book: Book) -> None:
    """Of two repairs with one proof after them both are due it; of one after a failed proof that one alone."""
    other: New = ("did", {"action": "replace-brushes"})
    assert state(book, SYMPTOM, REPAIR, other).epoch_actions == ["mend-lead", "replace-brushes"]
    now = state(book, SYMPTOM, REPAIR, REMAINS, other)
    assert now.epoch_actions == ["replace-brushes"]
    assert now.actions == ["mend-lead", "replace-brushes"]


def test_repairs_in_own_words_are_counted_up_to_their_proof(book: Book) -> None:
    """They want it as much as any other."""
    words: New = ("did-other", {"text": "rag taken out"})
    assert state(book, SYMPTOM, words, words).epoch_others == 2
    assert state(book, SYMPTOM, words, REMAINS, words).epoch_others == 1
    assert state(book, SYMPTOM, words).owed(book) == ("cycle-test",)


def test_a_cause_is_named_once_and_the_first_counts(book: Book) -> None:
    """Further ones stand beside it."""
    lead, brushes = ("cause", {"fault": "guard-switch.lead-chafed"}), ("cause", {"fault": "motor.brushes-worn"})
    now = state(book, lead, brushes, lead)
    assert now.causes == ["guard-switch.lead-chafed", "motor.brushes-worn"]
    assert now.cause == "guard-switch.lead-chafed"
    assert state(book).cause is None


@pytest.mark.parametrize(
    ("kind", "field", "found"),
    [("no-other-cause", "no_other_cause", True), ("closing", "closing", True), ("closed", "closed", True)],
)
def test_a_mark_is_set_by_its_entry(book: Book, kind: str, field: str, found: bool) -> None:
    """And not before."""
    assert [getattr(state(book), field), getattr(state(book, (kind, {})), field)] == [False, found]


def test_a_case_left_open_is_open_no_more_once_taken_up(book: Book) -> None:
    """The reason stands until then."""
    left: New = ("left-open", {"reason": "parts"})
    assert [state(book, left).left_open, state(book, left, ("taken-up", {})).left_open] == ["parts", None]


def test_found_in_words_waits_for_a_repair_in_words(book: Book) -> None:
    """As many repairs as finds leave nothing to mend."""
    found: New = ("found-other", {"text": "rag"})
    mended: New = ("did-other", {"text": "rag taken out"})
    told = [state(book, *new).found_in_words for new in ([], [found], [found, mended], [found, mended, found])]
    assert told == [False, True, False, True]


def test_what_an_opening_answer_wants_first_is_wanted_until_it_stood(book: Book) -> None:
    """Of the answer given alone, and once it stood it is not asked for again."""
    down = OpeningAnswer("down", "Down", first=("secured", "on-jacks"))
    answers = (down, OpeningAnswer("up", "Up", first=("gear-powered",)))
    asking = replace(book, opening=(OpeningQuestion("legs", "How do the legs stand?", answers),))
    said: New = ("opening", {"question": "legs", "answer": "down"})
    assert state(asking).first(asking) == ()
    assert state(asking, said).first(asking) == ("secured", "on-jacks")
    assert state(asking, said, ("set-up", {"condition": "secured"})).first(asking) == ("on-jacks",)


def test_after_a_failed_proof_nothing_more_is_owed_for_that_repair(book: Book) -> None:
    """Nor while something that was seen is not repaired; else the proof is."""
    assert state(book, SYMPTOM, REPAIR).situation(book).owed == ("cycle-test",)
    assert state(book, SYMPTOM, REPAIR, REMAINS).situation(book).owed == ()
    found: New = ("found", {"fault": "motor.brushes-worn"})
    now = state(book, SYMPTOM, REPAIR, found).situation(book)
    assert (now.owed, now.found) == ((), {"motor.brushes-worn"})


def test_the_situation_is_what_the_log_says(book: Book) -> None:
    """Acted, done, ever done and shown; a repair in own words among what was done."""
    before = state(book, SYMPTOM, OPEN).situation(book)
    assert (before.acted, before.own_words, before.done) == (False, False, {"switch-continuity"})
    after = state(book, SYMPTOM, OPEN, ("did-other", {"text": "rag taken out"})).situation(book)
    assert (after.acted, after.own_words, after.done, after.ever) == (True, True, set(), {"switch-continuity"})
    assert after.shown == (("switch-continuity", "open"),)


def test_what_was_shown_stands_in_the_order_in_which_it_was_last_done(book: Book) -> None:
    """A look lifts only what was found before it."""
    sound: New = ("answer", {"check": "motor-sound", "outcome": "silent"})
    assert state(book, OPEN, sound, OPEN).situation(book).shown == (
        ("motor-sound", "silent"), ("switch-continuity", "open"),
    )  # fmt: skip


def test_what_alone_lifts_a_finding_is_proposed_again_though_it_was_done_before(book: Book) -> None:
    """It came too early for that; what lifts nothing of it stays done."""
    sound = book.checks["motor-sound"]
    silent = replace(sound.outcomes[1], bars=("gear-powered",), until=("switch-continuity",))
    outcomes = tuple(silent if o.id == silent.id else o for o in sound.outcomes)
    wary = replace(book, checks={**book.checks, sound.id: replace(sound, outcomes=outcomes)})
    found: New = ("answer", {"check": "motor-sound", "outcome": silent.id})
    assert state(wary, SYMPTOM, OPEN, found).situation(wary).done == {"motor-sound"}
    assert state(book, SYMPTOM, OPEN, found).situation(book).done == {"motor-sound", "switch-continuity"}


def test_a_repair_in_own_words_may_have_been_of_what_was_seen(book: Book) -> None:
    """Nothing is then called found and open."""
    found: New = ("found", {"fault": "motor.brushes-worn"})
    assert state(book, found).found_and_open(book) == {"motor.brushes-worn"}
    assert state(book, found, ("did-other", {"text": "brushes cleaned"})).found_and_open(book) == frozenset()


@pytest.mark.parametrize(("outcome", "owed"), [("gone", ("motor-sound",)), ("slow", ()), ("remains", ())])
def test_a_proof_passes_by_its_last_outcome_alone(book: Book, outcome: str, owed: tuple[str, ...]) -> None:
    """Of three; what is due behind it is due only then."""
    proof, repair = book.checks["cycle-test"], book.actions["mend-lead"]
    first, last = proof.outcomes
    proof = replace(proof, outcomes=(first, replace(first, id="slow"), last))
    repair = replace(repair, follow_up=("cycle-test", "motor-sound"))
    more = replace(book, checks={**book.checks, proof.id: proof}, actions={**book.actions, repair.id: repair})
    now = state(more, SYMPTOM, REPAIR, ("answer", {"check": "cycle-test", "outcome": outcome}))
    assert now.situation(more).owed == owed


def test_an_answer_to_a_check_that_is_not_there_is_told_by_its_number(book: Book) -> None:
    """Whoever reads it can find the entry; the names alone would not say where it stands."""
    entry = CaseEntry(7, "", "mechanic", "answer", {"check": "none-such", "outcome": "well", "sure": True})
    with pytest.raises(BadCase, match=r"entry 7 \(answer\) does not fit this knowledge"):
        add_up(book, [entry])
