"""A new entry from answers to YAML: it loads with what was answered, replaces no file, and its ids are free."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from faulttree.book import read_book, read_cases
from faulttree.book.model import Book
from faulttree.book.yamltext import read_yaml
from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import as_yaml, files_of
from faulttree.workshop.authoring.ground import Ground, NotSound
from faulttree.workshop.authoring.questions import Question
from faulttree.workshop.authoring.session import Session
from faulttree.workshop.entries import Shelf
from tests.support.authored import CAUSE, CHECK, MADE_UP, MORE, SYMPTOM, answered, folders, ground, put
from tests.support.share import many

NEW = "motor-plug.pins-corroded"


def written(at: Path, answers: Mapping[str, str], more: str = "") -> Book:
    """The book with the entry in an overlay of its own; its case has been read without a problem."""
    found, target = folders(at, more), at / "shop"
    on = ground(found, target)
    put(target, files_of(answered(Session(on, {}), answers), on))
    reading = read_book([*found, target], MADE_UP)
    assert reading.book is not None, "\n".join(map(str, reading.problems))
    assert read_cases([*found, target], MADE_UP).problems == ()
    return reading.book


def test_a_cause_comes_into_the_book_as_answered(tmp_path: Path) -> None:
    """The part, the fault with its figures and their basis, the check, the repair, the squawk."""
    book = written(tmp_path, CAUSE)
    fault, check = book.faults[NEW], book.checks["look-into-motor-plug"]
    assert (fault.rate, fault.share, fault.shows, fault.promoted_by) == (0.2, 0.3, 0.4, ("wet",))
    assert (fault.basis.kind, fault.basis.note) == ("shop-history", "2 in 10000 hours since 2029")
    assert (book.components["motor-plug"].name, book.components["motor-plug"].ata) == ("Motor plug", "32-60")
    assert (check.outcomes[0].when, check.outcomes[0].detects, check.false_alarm) == (NEW, 0.95, 0.02)
    assert (check.minutes, check.needs, check.equipment) == (10.0, ("secured",), ("multimeter",))
    assert (book.actions["clean-motor-plug"].minutes, fault.corrected_by) == (80.0, ("clean-motor-plug",))
    assert NEW in book.events[book.symptoms["stays-down"].when].of


def test_a_check_comes_into_the_book_as_answered(tmp_path: Path) -> None:
    """A question takes a minute and touches nothing."""
    check = written(tmp_path, CHECK).checks["ammeter-selecting-up"]
    assert (check.kind, check.ask, check.about, check.minutes) == ("ask", "Did the ammeter move?", "squawk", 1.0)
    assert [outcome.when for outcome in check.outcomes] == ["motor.brushes-worn", None]


def test_a_symptom_comes_into_the_book_as_answered(tmp_path: Path) -> None:
    """With the book's usual share of causes that are not listed."""
    book = written(tmp_path, SYMPTOM)
    symptom = book.symptoms["motor-clicks"]
    assert (len(symptom.says), symptom.when) == (5, "motor.brushes-worn")
    assert symptom.unlisted == book.defaults.unlisted


@pytest.mark.parametrize(
    ("place", "events"),
    [("feed@switch", ["feed@switch", "feed@motor"]), ("no-feed", ["no-feed"]), ("both", ["both"])],
)
def test_a_cause_at_a_place_holds_there(tmp_path: Path, place: str, events: list[str]) -> None:
    """At a point of a circuit and behind it, in an event of any gate; what was there before still brings it about."""
    answers = {**CAUSE, "place.1": place, "place.2": "", "new-check": "y"}
    before, book = read_book(folders(tmp_path / "before", MORE), MADE_UP).book, written(tmp_path, answers, MORE)
    assert before is not None
    for name in events:
        assert holds(book, name, {NEW})
        for fault in before.faults:
            assert holds(book, name, {fault}) == holds(before, name, {fault})
        assert holds(book, name, set(before.faults)) == holds(before, name, set(before.faults))


def holds(book: Book, name: str, faults: set[str]) -> bool:
    """By the gates as they are defined, written out here once more."""
    if name in book.faults:
        return name in faults
    event = book.events[name]
    parts = [holds(book, part, faults) for part in event.of]
    return {"any_of": any(parts), "all_of": all(parts), "not": not any(parts)}[event.gate]


def test_a_cause_tied_to_a_result_of_the_book_needs_no_check_of_its_own(tmp_path: Path) -> None:
    """The result stands for it too, and keeps its accuracy."""
    answers = {**CAUSE, "seen.1": "switch-continuity=open", "seen.2": "", "new-check": ""}
    answers |= {"case.step.1": "switch-continuity=open"}
    book = written(tmp_path, answers)
    check = book.checks["switch-continuity"]
    assert "look-into-motor-plug" not in book.checks
    assert set(book.events[check.outcomes[0].when or ""].of) == {"guard-switch.stuck", NEW}
    assert (check.outcomes[0].detects, check.wakes, len(check.outcomes)) == (0.95, 0.8, 3)


def test_what_the_advice_asks_first_is_tied_to_what_it_shows_with_the_new_cause(tmp_path: Path) -> None:
    """The result stands for the cause too; the rest of the check stays as it was."""
    book = written(tmp_path, {**CAUSE, "reads.switch-continuity": "2"})
    check = book.checks["switch-continuity"]
    assert set(book.events[check.outcomes[1].when or ""].of) == {"guard-switch.lead-chafed", NEW}
    assert (check.outcomes[0].when, check.minutes, check.wakes) == ("guard-switch.stuck", 10.0, 0.8)


def test_what_a_check_shows_with_the_new_cause_is_kept_where_the_advice_goes_another_way(tmp_path: Path) -> None:
    """An answer that was given holds, though its question would not come up any more."""
    session = Session(Ground(folders(tmp_path), MADE_UP, tmp_path / "shop"), {})
    draft = answered(session, {**CAUSE, "reads.switch-continuity": "2"})
    assert "switch-continuity=jumps" in draft.places
    session.answers |= {"reads.motor-sound": "hummed"}
    session.change("basis")
    draft = answered(session, CAUSE)
    assert {"switch-continuity=jumps", "motor-sound=hummed"} <= set(draft.places)


LEGS = """components:
  door: {name: Gear door, legs: {left: 0.4, right: 0.4, nose: 0.2}, basis: estimate}
faults:
  door.fouls: {name: fouls, rate: 2, basis: estimate, corrected_by: [mend-lead]}
symptoms:
  stays-down: {amends: true, when: {any_of: [guard-switch.stuck, guard-switch.lead-chafed, motor.brushes-worn,
    door.fouls]}}
checks:
  door-side:
    name: Side of the noise
    kind: ask
    ask: On which side was it?
    minutes: 1
    outcomes:
      left: {label: Left, when: door-left.fouls}
      right: {label: Right, when: door-right.fouls}
      nose: {label: Nose, when: door-nose.fouls}
      none: {label: No side, otherwise: true}
    detects: 0.9
    false_alarm: 0.05
    basis: estimate
"""


def test_results_that_name_the_legs_are_tied_leg_by_leg(tmp_path: Path) -> None:
    """A part that each leg has shows on its own side, and on no other."""
    at = tmp_path / "overlaid"
    found, hand = with_hand(at, "legs.yaml", LEGS)
    target = tmp_path / "ours"
    on = Ground([*found, hand], MADE_UP, target)
    session = Session(on, {})
    answers = {**CAUSE, "component": "door", "reads.door-side": "1", "case.step.1": "none"}
    put(target, files_of(answered(session, answers), on))
    book = read_book([*found, hand, target], MADE_UP).book
    assert book is not None
    for outcome in book.checks["door-side"].outcomes[:-1]:
        own = {f"door-{outcome.id}.fouls", f"door-{outcome.id}.pins-corroded"}
        assert set(book.events[outcome.when or ""].of) == own


HAND = """# The lead's own file, with odd   layout.
symptoms:
  stays-down:   {amends: true, unlisted: 0.2, basis: estimate}   # ours
  motor-hot:
    {name: Motor hot, says: [hot motor, motor smells, motor is hot, too hot, burning smell], when: of-the-shop}
components: {shop-part: {name: Shop part}}
faults:
  shop-part.bad: {name: bad, rate: 0.1, basis: estimate, corrected_by: [mend-lead]}
checks:
  motor-sound: {retires: true, reason: nobody listens}
events:
  of-the-shop: {name: The shop's own, any_of: [shop-part.bad, guard-switch.stuck]}
"""


def with_hand(at: Path, name: str, text: str) -> tuple[list[Path], Path]:
    found, target = folders(at), at / "shop"
    put(target, {f"made-up/{name}": text})
    return found, target


LATER = """symptoms:
  stays-down: {amends: true, when: {any_of: [guard-switch.stuck, motor.brushes-worn, guard-switch.lead-chafed]}}
"""


@pytest.mark.parametrize("name", ["a.yaml", "motor-plug-pins-corroded.yaml", "zebra.yaml", "zz.yaml", "\u00e9.yaml"])
def test_files_that_are_there_stay_and_what_they_amend_is_not_lost(tmp_path: Path, name: str) -> None:
    """The new file comes behind the lead's that amends the same symptom, whatever that is called."""
    found, target = with_hand(tmp_path, name, LATER)
    on = ground(found, target)
    texts = files_of(answered(Session(on, {}), CAUSE), on)
    assert not [path for path in texts if (target / path).exists()]
    put(target, texts)
    book = read_book([*found, target], MADE_UP).book
    assert book is not None
    assert (target / "made-up" / name).read_text(encoding="utf-8") == LATER
    assert set(book.events[book.symptoms["stays-down"].when].of) >= {NEW, "guard-switch.stuck"}


def test_a_second_cause_keeps_the_first(tmp_path: Path) -> None:
    """Both amend the same symptom from the same overlay."""
    found, target = folders(tmp_path), tmp_path / "shop"
    on = ground(found, target)
    put(target, files_of(answered(Session(on, {}), CAUSE), on))
    more = {**CAUSE, "component": "motor", "mode": "armature burnt"}
    more |= {"check": "Armature to ground", "action": "Replace the armature"}
    on = ground(found, target)
    put(target, files_of(answered(Session(on, {}), more), on))
    book = read_book([*found, target], MADE_UP).book
    assert book is not None
    assert set(book.events[book.symptoms["stays-down"].when].of) >= {NEW, "motor.armature-burnt"}


@pytest.mark.parametrize(
    ("key", "typed", "right"),
    [
        ("component", "moter", "no 'moter' among them"),
        ("component.id", "motor", "there is a component motor already, at .*all.yaml:5"),
        ("mode.id", "Pins_Corroded", "pins-corroded"),
        ("check.id", "motor-sound", "retired .nobody listens.; ids are never used again"),
        ("check.id", "switch-continuity", "there is a check switch-continuity already"),
        ("brings.1", "stays-up", "no 'stays-up'"),
        ("promoted.1", "weather", "no 'weather'"),
        ("place.1", "of-the-shop", "this overlay has it itself"),
        ("seen.1", "switch-continuity=shut", "among them"),
        ("check.needs.1", "jacked", "no 'jacked'"),
        ("outcome.1.id", "pins green", "pins-green"),
        ("otherwise.id", "pins-green", "has a result pins-green already"),
        ("check.equipment.1", "spanner", "no 'spanner'"),
        ("detects", "95", "write 95 % or 0.95"),
        ("mended", "mend", "no 'mend'"),
        ("case.step.1", "motor-sound=hummed", "no 'motor-sound=hummed'"),
        ("case.step.1", "look-into-motor-plug=pins", "among them"),
        ("case.within", "0", "from 1 to"),
        ("component.ata", "gear", "write it as 32-60"),
    ],
)
def test_each_answer_is_checked_as_it_is_typed(tmp_path: Path, key: str, typed: str, right: str) -> None:
    """It is asked again, and nothing is taken."""
    found, target = with_hand(tmp_path, "hand.yaml", HAND)
    session = Session(ground(found, target), {})
    while isinstance(session.now, Question) and session.now.key != key:
        session.answer(CAUSE[session.now.key])
    assert isinstance(session.now, Question)
    with pytest.raises(BadAnswer, match=right):
        session.answer(typed)
    assert session.now.key == key


def test_a_way_of_failing_that_the_book_has_is_not_taken_twice(tmp_path: Path) -> None:
    """Word for word it would be one cause with two rates."""
    session = Session(ground(*with_hand(tmp_path, "hand.yaml", "{}")), {})
    session.answer("cause")
    session.answer("motor")
    with pytest.raises(BadAnswer, match="word for word"):
        session.answer("Brushes worn")


@pytest.mark.parametrize(("rate", "usual"), [("0.04", "1"), ("2 in 10000", "3")])
def test_a_rate_that_was_counted_is_history_by_enter(tmp_path: Path, rate: str, usual: str) -> None:
    """Whoever counts need not be asked to say so."""
    session = Session(ground(*with_hand(tmp_path, "hand.yaml", "{}")), {})
    while isinstance(session.now, Question) and session.now.key != "fault.basis":
        session.answer(rate if session.now.key == "rate" else CAUSE[session.now.key])
    assert isinstance(session.now, Question)
    assert session.now.default_words == usual


def test_the_count_of_a_rate_is_said_once(tmp_path: Path) -> None:
    """It is what Enter takes as its basis, and no other one stands beside it."""
    session = Session(ground(*with_hand(tmp_path, "hand.yaml", "{}")), {})
    while isinstance(session.now, Question) and session.now.key != "fault.basis.note":
        session.answer("2 in 10000 h" if session.now.key == "rate" else CAUSE[session.now.key])
    assert isinstance(session.now, Question)
    assert session.now.default == "2 in 10000 flight hours"
    with pytest.raises(BadAnswer, match="the rate was told as 2 in 10000"):
        session.answer("1 in 6000, since 2021")
    session.answer("2 in 10000 hours, since 2021")


def test_a_check_that_misses_most_is_asked_about_once_more(tmp_path: Path) -> None:
    """Mostly what it misses was typed."""
    session = Session(ground(*with_hand(tmp_path, "hand.yaml", "{}")), {})
    while isinstance(session.now, Question) and session.now.key != "detects":
        session.answer(CAUSE[session.now.key])
    session.answer("2 %")
    assert isinstance(session.now, Question)
    assert session.now.key == "detects.sure.0.02"
    session.answer("9 in 10")
    assert isinstance(session.now, Question)
    assert session.now.key == "false-alarm"


OPTION = """options:
  plug-kind: {name: Plug, choices: {no-plug: No plug, with-plug: A plug, old-plug: An old plug}, default: no-plug}
components:
  plug: {name: Plug, fitted: [with-plug, old-plug]}
"""


def test_what_belongs_to_a_part_of_some_aircraft_is_for_those(tmp_path: Path) -> None:
    """Check and repair are fitted as the part is, and the case is of an aircraft that has it."""
    found, target = folders(tmp_path, OPTION), tmp_path / "shop"
    on = ground(found, target)
    draft = answered(Session(on, {}), {**CAUSE, "component": "plug"})
    put(target, files_of(draft, on))
    usual, fitted = (read_book([*found, target], MADE_UP, options).book for options in ((), ("old-plug",)))
    assert usual is not None
    assert fitted is not None
    assert "look-into-motor-plug" not in usual.checks
    assert fitted.faults["plug.pins-corroded"].corrected_by == ("clean-motor-plug",)
    (case,) = read_cases([*found, target], MADE_UP).cases
    assert case.fitted == ("with-plug",)


def test_a_book_with_errors_is_told_at_once(tmp_path: Path) -> None:
    """With the first of them and its place."""
    found, target = with_hand(tmp_path, "broken.yaml", "faults:\n  motor.x: {name: x}\n")
    with pytest.raises(NotSound, match=r"broken\.yaml:2:"):
        Ground([*found, target], MADE_UP, target)


def test_a_list_of_the_book_is_added_to_and_not_copied(tmp_path: Path) -> None:
    """What the book puts into it later stands there too."""
    found, target = folders(tmp_path), tmp_path / "shop"
    on = Ground(found, MADE_UP, target)
    put(target, files_of(answered(Session(on, {}), CAUSE), on))
    file = next(path for path in (found[0] / MADE_UP).glob("*.yaml") if "stays-down:" in path.read_text("utf-8"))
    text = file.read_text("utf-8")
    assert text.count("guard-switch.lead-chafed, motor.brushes-worn]}") == 1
    file.write_text(text.replace("guard-switch.lead-chafed, motor.brushes-worn]}", "motor.brushes-worn]}"), "utf-8")
    book = read_book([*found, target], MADE_UP).book
    assert book is not None
    assert set(book.events[book.symptoms["stays-down"].when].of) == {"guard-switch.stuck", "motor.brushes-worn", NEW}


def test_what_is_amended_says_why_by_whom_and_when(tmp_path: Path) -> None:
    """As the reader takes it."""
    found, target = folders(tmp_path), tmp_path / "shop"
    on = Ground(found, MADE_UP, target, {"by": "the lead", "date": "2026-03-14"})
    put(target, files_of(answered(Session(on, {}), CAUSE), on))
    found = [*found, target]
    book = read_book(found, MADE_UP).book
    assert book is not None
    (told,) = Shelf(book, found).entry("symptoms", "stays-down").amended
    assert told.endswith("when (motor-plug.pins-corroded is tied in; the lead, 2026-03-14)")


def test_what_a_later_overlay_amends_is_refused(tmp_path: Path) -> None:
    """It would win, and the new cause be lost."""
    found, later = with_hand(tmp_path, "later.yaml", LATER)
    target = tmp_path / "first"
    target.mkdir()
    on = Ground([*found, target, later], MADE_UP, target)
    session = Session(on, {})
    while isinstance(session.now, Question) and session.now.key != "brings.1":
        session.answer(CAUSE[session.now.key])
    with pytest.raises(BadAnswer, match=r"amended by a later overlay too, at .*later\.yaml"):
        session.answer("stays-down")


words = st.text(st.characters(blacklist_categories=["C", "Z"]), min_size=1, max_size=12)
texts = st.lists(words, min_size=1, max_size=25).map(" ".join)


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=many(20, 60), deadline=None)
@given(texts, st.floats(1e-6, 1e4), st.integers(0, 9))
def test_whatever_is_said_is_read_back(text: str, number: float, count: int) -> None:
    """By the reader of the book: any words, on one line or folded, any number to six figures."""
    data = {"faults": {"a.b": {"name": text, "says": [text, "no", "on"], "rate": number, "within": count, "on": True}}}
    read = read_yaml(as_yaml(data).encode(), "x")
    assert read.problems == []
    found = read.data["faults"]["a.b"]
    assert (found["name"], found["says"][0], found["says"][1:]) == (text, text, ["no", "on"])
    assert found["rate"] == pytest.approx(number, rel=1e-5)
    assert (found["within"], found["on"]) == (count, True)
