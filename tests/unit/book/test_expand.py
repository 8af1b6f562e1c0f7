"""What legs, options and defaults make of the written entries."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from faulttree.book import BookReading, read_texts
from faulttree.book.model import Book

Reader = Callable[..., BookReading]


@pytest.fixture(scope="module")
def book(read_with: Reader) -> Book:
    """The sound book at its default options."""
    return _book(read_with())


def _book(reading: BookReading) -> Book:
    assert [str(p) for p in reading.problems] == []
    assert reading.book is not None
    return reading.book


def _check_for(name: str) -> str:
    """A file with one check, whose first outcome looks at a name."""
    outcomes = f"{{x: {{label: X, when: {name}}}, y: {{label: Y, otherwise: true}}}}"
    numbers = "minutes: 1, detects: 0.9, false_alarm: 0.1, basis: estimate"
    return f"checks:\n  a: {{name: A, kind: look, outcomes: {outcomes}, {numbers}}}\n"


def test_a_legged_fault_becomes_one_per_leg(book: Book) -> None:
    """Its rate is shared out by the component's shares; id and name carry the leg, the component does not."""
    faults = [fault for fault in book.faults.values() if fault.component == "lock"]
    assert [(fault.id, fault.leg, fault.name) for fault in faults] == [
        ("lock-left.dry", "left", "Lock, left: dry"),
        ("lock-right.dry", "right", "Lock, right: dry"),
        ("lock-nose.dry", "nose", "Lock, nose: dry"),
    ]
    assert [fault.rate for fault in faults] == pytest.approx([0.6, 0.6, 0.8])


def test_a_legged_probability_is_shared_out_like_a_rate(book: Book) -> None:
    """Each leg gets the stated probability times its share."""
    assert [book.faults[f"door-{leg}.bent"].probability for leg in ("left", "right")] == [0.005, 0.005]


def test_the_placeholder_takes_the_leg(book: Book) -> None:
    """``{leg}`` is filled in where it stands; nothing is appended then, and the component itself goes without."""
    assert book.faults["door-left.bent"].name == "Left door: bent"
    assert (book.components["door"].name, book.checks["look-at-lock-nose"].name) == ("Door", "Look at the nose lock")
    assert book.checks["look-at-lock-nose"].outcomes[0].label == "The nose lock is dry"


def test_each_leg_copies_an_entry_and_means_the_same_leg(book: Book) -> None:
    """In a copy for a leg a legged name means that leg's."""
    assert book.events["leg-held-right"].of == ("lock-right.dry", "door-right.bent")
    assert book.checks["look-at-lock-left"].outcomes[0].when == "lock-left.dry"
    assert [c for c in book.checks if c.startswith("look-at-lock")] == [
        "look-at-lock-left",
        "look-at-lock-right",
        "look-at-lock-nose",
    ]


def test_elsewhere_a_legged_name_is_the_list_of_its_legs(book: Book) -> None:
    """In a chain and in any_of the legs are spliced in."""
    assert book.events["feed@lock"].of == ("feed@bus", "lock-left.dry", "lock-right.dry", "lock-nose.dry")
    assert book.events["no-up/when"].of[:3] == ("feed", "leg-held-left", "leg-held-right")


@pytest.mark.parametrize(
    ("gate", "kind", "count"),
    [
        ("all_of: [lock.dry]", "all_of", 0),
        ("not: lock.dry", "not", 0),
        ("not: [lock.dry]", "not", 0),
        ("at_least: {count: 2, of: [lock.dry]}", "at_least", 2),
    ],
)
def test_legs_are_spliced_into_every_gate(read_with: Reader, gate: str, kind: str, count: int) -> None:
    """all_of wants all legs, at_least counts them, not wants none of them."""
    event = _book(read_with(f"events:\n  held: {{name: Held, {gate}}}\n")).events["held"]
    assert (event.gate, event.count, event.of) == (kind, count, ("lock-left.dry", "lock-right.dry", "lock-nose.dry"))


def test_where_one_event_is_wanted_any_leg_will_do(read_with: Reader) -> None:
    """A legged name as the one event of an outcome becomes the event "any of its legs"."""
    book = _book(read_with(_check_for("leg-held")))
    assert book.checks["a"].outcomes[0].when == "leg-held"
    assert (book.events["leg-held"].of, book.events["leg-held"].name) == (
        ("leg-held-left", "leg-held-right"),
        "Leg held, any leg",
    )


def test_a_leg_can_be_picked(read_with: Reader) -> None:
    """A name with a leg's suffix means that leg's copy, anywhere."""
    text = "events:\n  one: {name: One, all_of: [lock-nose.dry, leg-held-left, door-right.bent]}\n"
    assert _book(read_with(text)).events["one"].of == ("lock-nose.dry", "leg-held-left", "door-right.bent")


def test_a_legged_chain_has_legged_taps(read_with: Reader) -> None:
    """A chain with legs starts at its own leg's tap, or at the one tap of a chain without."""
    text = """
chains:
  first: {name: First, each_leg: true, starts_at: feed@bus, elements: [{faults: [lock.dry], tap: lock}]}
  second: {name: Second, each_leg: [left, right], starts_at: first@lock, elements: [{faults: [door.bent], tap: door}]}
events:
  late: {name: Late, all_of: [second@door, first-nose@lock]}
"""
    events = _book(read_with(text)).events
    assert events["first-nose@lock"].of == ("feed@bus", "lock-nose.dry")
    assert events["second-left@door"].of == ("first-left@lock", "door-left.bent")
    assert events["late"].of == ("second-left@door", "second-right@door", "first-nose@lock")


def test_corrections_and_follow_ups_keep_to_the_leg(book: Book) -> None:
    """A legged action corrects its own leg's fault, and is followed by its own leg's check."""
    assert book.faults["lock-left.dry"].corrected_by == ("oil-lock-left",)
    action = book.actions["oil-lock-nose"]
    assert (action.corrects, action.follow_up) == (("lock-nose.dry",), ("look-at-lock-nose",))


def test_from_an_unlegged_entry_a_legged_one_means_all_legs(book: Book) -> None:
    """An action without legs that corrects both legs' faults is followed by the check of every leg."""
    action = book.actions["straighten-doors"]
    assert action.corrects == ("door-left.bent", "door-right.bent")
    assert action.follow_up == ("look-at-lock-left", "look-at-lock-right", "look-at-lock-nose")


def test_a_symptom_named_by_a_gate_stands_for_its_event(book: Book) -> None:
    """An outcome tied to a symptom looks at the symptom's event."""
    assert book.checks["ask-light"].outcomes[0].when == "no-light/when"
    assert book.events["no-light/when"].of == ("light@lamp",)


def test_a_chain_is_dead_by_a_tap_through_anything_before_it(book: Book) -> None:
    """Each tap is an OR over the tap before; the chain's own name is its end; it may start at another's tap."""
    assert book.events["feed@bus"].of == ("bus.dead",)
    assert (book.events["feed"].of, book.events["light@lamp"].of) == (("feed@lock",), ("feed@bus", "lamp.dark"))


def test_events_come_after_what_they_look_at(book: Book) -> None:
    """Every event stands after the events it names, and names only what is there."""
    seen = set(book.faults)
    for event in book.events.values():
        assert set(event.of) <= seen
        seen.add(event.id)


def test_options_not_said_are_taken_at_their_default(read_with: Reader) -> None:
    """The book says which option holds in each group, and which were assumed."""
    book = _book(read_with(fitted=("two-lamps",)))
    assert (book.fitted, book.assumed) == ({"lamps": "two-lamps", "horn": "with-horn"}, ("horn=with-horn",))


@pytest.mark.parametrize("fitted", ["two-lamps", "lamps=two-lamps"])
def test_what_is_not_fitted_is_gone(read_with: Reader, fitted: str) -> None:
    """Faults of a component that is not fitted go with it, and drop out of chains."""
    book = _book(read_with(fitted=(fitted,)))
    assert ("lamp" in book.components, "lamp.dark" in book.faults) == (False, False)
    assert book.events["light@lamp"].of == ("feed@bus", "lamps.dark")


def test_options_of_a_group_are_alternatives_and_groups_must_all_match(sound: Mapping[str, str]) -> None:
    """``fitted`` with two of one group and one of another needs either of the two, and the one."""
    text = "events:\n  horny: {name: H, any_of: [bus.dead], fitted: [one-lamp, two-lamps, no-horn]}\n"
    found = {
        fitted: "horny" in _book(read_texts({**sound, "demo/x.yaml": text}, "demo", fitted)).events
        for fitted in [("no-horn",), ("no-horn", "two-lamps"), ("with-horn",)]
    }
    assert list(found.values()) == [True, True, False]


@pytest.mark.parametrize(
    "gate", ["all_of: [bus.dead, lamps.dark]", "not: lamps.dark", "at_least: {count: 1, of: [lamps.dark]}"]
)
def test_gates_that_cannot_do_without_refuse_what_is_not_fitted(read_with: Reader, gate: str) -> None:
    """In all_of, not and at_least a name that is not fitted is an error, at its place."""
    reading = read_with(f"events:\n  held: {{name: Held, {gate}}}\n")
    assert [(p.position.line, p.rule) for p in reading.problems] == [(2, "not-fitted")]


def test_an_outcome_whose_cause_is_not_fitted_never_holds(read_with: Reader) -> None:
    """The outcome stays and is tied to an event without members."""
    book = _book(read_with(_check_for("lamps.dark")))
    assert book.events[book.checks["a"].outcomes[0].when or ""].of == ()


@pytest.mark.parametrize(
    ("fitted", "right"),
    [
        (("three-lamps",), "did you mean `two-lamps`?"),
        (("lamps=no-horn",), "write one of one-lamp, two-lamps"),
        (("one-lamp", "two-lamps"), "give one of them"),
    ],
)
def test_options_that_make_no_sense_are_problems(read_with: Reader, fitted: tuple[str, ...], right: str) -> None:
    """An unknown option, one of another group, and two of one group are refused."""
    reading = read_with(fitted=fitted)
    assert (reading.book, [p.right for p in reading.problems]) == (None, [right])


def test_defaults_fill_what_is_not_stated(book: Book) -> None:
    """``unlisted``, ``noticed``, ``effective`` and ``fresh`` come from the section of defaults."""
    assert (book.symptoms["no-up"].unlisted, book.symptoms["no-light"].unlisted) == (0.03, 0.05)
    assert (book.actions["fix-bus"].effective, book.actions["straighten-doors"].effective) == (0.95, 0.9)
    assert (book.symptoms["no-up"].noticed, book.checks["swing"].fresh) == (0.9, 0.2)


def test_what_a_check_is_about_follows_from_its_kind(book: Book) -> None:
    """Questions are about the squawk, looks and tests about now, unless they say so."""
    assert (book.checks["ask-light"].about, book.checks["look-at-bus"].about) == ("squawk", "now")


def test_a_single_factor_serves_both_modes(book: Book) -> None:
    """One factor stands for the hard mode and the one that comes and goes; none is a factor of one."""
    wet, comes = book.circumstances["wet"], book.circumstances["comes-and-goes"]
    assert (wet.promotes, wet.demotes, wet.steady) == ((3.0, 3.0), (1.0, 1.0), 1.0)
    assert (comes.intermittent, comes.steady) == ((0.3, 5.0), 0.3)


def test_a_matrix_gives_detection_and_false_alarm(read_with: Reader) -> None:
    """Rows by shown, columns by true outcome; the diagonal detects, the last column's rest is the false alarm."""
    text = """
checks:
  a:
    name: A
    kind: look
    minutes: 1
    basis: estimate
    outcomes: {x: {label: X, when: bus.dead}, y: {label: Y, when: lock.dry}, z: {label: Z, otherwise: true}}
    matrix: {z: [0.1, 0.2, 0.9], x: [0.8, 0.1, 0.06], y: [0.1, 0.7, 0.04]}
"""
    check = _book(read_with(text)).checks["a"]
    assert check.matrix == ((0.8, 0.1, 0.06), (0.1, 0.7, 0.04), (0.1, 0.2, 0.9))
    assert [*(o.detects for o in check.outcomes), check.false_alarm] == pytest.approx([0.8, 0.7, 0.9, 0.1])


def test_gates_within_gates_become_events_of_their_own(book: Book) -> None:
    """A nested gate is an event with an id that no author can write."""
    assert book.events["no-up/when"].of[3] == "no-up/when/1"
    assert book.events["no-up/when/1"].gate == "all_of"
