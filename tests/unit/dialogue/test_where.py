"""The chains as strips: what lies on a stretch, how it stands, which chain is shown first."""

from __future__ import annotations

import pytest

from faulttree.book import read_texts
from faulttree.book.model import Book
from faulttree.chances import in_words, minutes_in_words
from faulttree.dialogue.chains import chains
from faulttree.dialogue.where import strips
from faulttree.graph.gates import Gates
from tests.support.small_family import FAMILY, shared_texts

CHAINS = """
chains:
  feed:
    name: Feed
    elements:
      - {faults: [guard-switch.stuck], tap: guard, name: the guard}
      - {faults: [guard-switch.lead-chafed], tap: lead, name: the lead}
  motor-circuit:
    name: Motor circuit
    starts_at: feed@lead
    elements:
      - {faults: [motor.brushes-worn], tap: brushes, name: the brushes}
"""
FAULTS = ("guard-switch.stuck", "guard-switch.lead-chafed", "motor.brushes-worn")


@pytest.fixture(scope="module")
def book() -> Book:
    reading = read_texts({**shared_texts(), "made-up/all.yaml": FAMILY + CHAINS}, "made-up")
    assert reading.book is not None, reading.problems
    return reading.book


def told(book: Book, now: tuple[float, float, float], first: tuple[float, float, float]) -> dict[str, list[str]]:
    found = strips(book, Gates(book), dict(zip(FAULTS, now, strict=True)), dict(zip(FAULTS, first, strict=True)))
    return {strip.name: [f"{part.tap} {part.stands}" for part in strip.stretches] for strip in found}


def test_chains_are_found_with_their_taps_in_order(book: Book) -> None:
    """From the source on."""
    assert chains(book) == {"feed": ["feed@guard", "feed@lead"], "motor-circuit": ["motor-circuit@brushes"]}


def test_each_stretch_has_what_lies_on_it_alone(book: Book) -> None:
    """A chain that starts at another's tap shows that one before it; what is on it is counted once."""
    (circuit,) = strips(book, Gates(book), dict(zip(FAULTS, (0.1, 0.15, 0.7), strict=True)), {})
    assert [(part.tap, pytest.approx(part.share)) for part in circuit.stretches] == [
        ("guard", 0.1), ("lead", 0.15), ("brushes", 0.7),
    ]  # fmt: skip


def test_what_a_strip_above_shows_is_not_shown_again(book: Book) -> None:
    """Where the feed is the more suspect it stands first, and the circuit shows where it starts and goes on."""
    assert told(book, (0.3, 0.5, 0.2), (0.3, 0.5, 0.2)) == {
        "Feed": ["guard suspect", "lead strong"],
        "Motor circuit": ["lead strong", "brushes suspect"],
    }


@pytest.mark.parametrize(
    ("now", "first", "stands"),
    [
        (0.95, 0.3, "found"), (0.5, 0.3, "strong"), (0.2, 0.3, "suspect"), (0.05, 0.3, "little"),
        (0.005, 0.3, "proved"), (0.005, 0.006, "open"), (0.015, 0.03, "open"),
    ],
)  # fmt: skip
def test_a_stretch_stands_by_what_lies_on_it(book: Book, now: float, first: float, stands: str) -> None:
    """Proved good is only what was once suspect and is no more."""
    assert told(book, (now, 0.2, 0.0), (first, 0.2, 0.0))["Feed"][0] == f"guard {stands}"


def test_a_chain_on_which_nothing_lies_is_not_shown(book: Book) -> None:
    """Less than one in ten on all of it."""
    assert told(book, (0.02, 0.02, 0.02), (0.3, 0.3, 0.3)) == {}


LEGS = """
options:
  locks: {name: Locks, choices: {hooks: hooks, braces: braces}, default: braces}
components:
  hook: {name: Hook, ata: 32-30, legs: {left: 0.3, right: 0.3, nose: 0.4}, basis: estimate, fitted: [hooks]}
  brace: {name: Brace, ata: 32-30, legs: {left: 0.3, right: 0.3, nose: 0.4}, basis: estimate}
faults:
  hook.worn: {name: worn, rate: 0.3, basis: estimate, corrected_by: [replace-brushes]}
  brace.short: {name: short, rate: 0.3, basis: estimate, corrected_by: [replace-brushes]}
  brace.dry: {name: dry, rate: 0.3, basis: estimate, corrected_by: [replace-brushes]}
symptoms:
  wobbles:
    name: Gear wobbles
    says: [wobbles, shakes, loose leg, leg wags, shimmies]
    when: {any_of: [hook.worn, brace.short, brace.dry]}
    pilot_advice: [Leave it down and land.]
events:
  both-short: {name: Both short, all_of: [brace-left.short, brace-right.short]}
chains:
  leg:
    name: "{leg} leg"
    starts_at: motor-circuit@brushes
    each_leg: true
    elements:
      - {faults: [hook.worn], tap: hook, name: the hook}
      - {faults: [brace.dry], tap: brace, name: the brace}
      - {faults: [brace.short], tap: down-lock, name: the lock}
  horn:
    name: Horn
    elements:
      - {faults: [both-short, motor.brushes-worn], tap: leg-switches, name: the leg switches}
  whole-feed:
    name: All of the feed
    elements:
      - {faults: [guard-switch.stuck, guard-switch.lead-chafed, brace-nose.short], tap: guard-and-lead, name: both}
"""


@pytest.fixture(scope="module")
def legged() -> Book:
    reading = read_texts({**shared_texts(), "made-up/all.yaml": FAMILY + CHAINS, "made-up/legs.yaml": LEGS}, "made-up")
    assert reading.book is not None, reading.problems
    return reading.book


def test_each_leg_is_named_where_its_own_stretches_begin(legged: Book) -> None:
    """What is not fitted has no place."""
    (leg,) = strips(legged, Gates(legged), {"brace-left.dry": 0.5}, {})
    assert [part.tap for part in leg.stretches] == ["guard", "lead", "brushes", "left brace", "down lock"]


def test_what_takes_two_faults_at_once_is_no_place_of_either(legged: Book) -> None:
    """Nobody looks for a short brace in the horn."""
    found = strips(legged, Gates(legged), {"brace-left.short": 0.3, "brace-right.short": 0.3}, {})
    assert [strip.stretches[-1].tap for strip in found] == ["down lock", "down lock"]


def test_of_two_chains_over_the_same_places_the_fuller_is_shown(legged: Book) -> None:
    """Else a place would be proved good on one and suspect on the other."""
    found = strips(legged, Gates(legged), {"guard-switch.stuck": 0.6}, {})
    assert [strip.name for strip in found] == ["All of the feed"]


def test_chains_are_worked_out_once_for_a_book(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """The screen is drawn anew for each key."""
    gates = Gates(book)
    first = strips(book, gates, {"motor.brushes-worn": 0.5}, {}, "switch-continuity")
    for worked_out in ("truth", "below"):
        monkeypatch.delattr(Gates, worked_out)
    assert strips(book, gates, {"motor.brushes-worn": 0.5}, {}, "switch-continuity") == first


@pytest.fixture(scope="module")
def shipped() -> Book:
    from tests.jobs.run import shipped_book

    return shipped_book()


def next_taps(book: Book, now: dict[str, float], step: str) -> list[list[str]]:
    """The taps marked on each strip."""
    return [[part.tap for part in strip.stretches if part.next] for strip in strips(book, Gates(book), now, now, step)]


def test_the_tap_that_the_next_step_looks_at_is_marked(shipped: Book) -> None:
    """And its chain stands first, though more lies on another."""
    now = {"gear-selector.common-open": 0.12, "warning-horn.dead": 0.8}
    first, second = next_taps(shipped, now, "volts-at-selector-common")[:2]
    assert first == ["selector common"]
    assert second == []


LEG = {"push-pull-rod-left.bent": 0.2, "down-lock-brace-left.short-of-centre": 0.2, "trunnion-left.dry": 0.1}
MOTOR = {"gear-motor.brushes-worn": 0.3, "gear-motor.armature-open": 0.1, "electrical-supply.weak": 0.2}


def test_a_check_is_marked_where_most_of_what_it_looks_at_lies(shipped: Book) -> None:
    """A door that keeps a brace from locking is no reason to look for the brace at the door."""
    marked = next_taps(shipped, LEG | {"gear-door-left.jammed": 0.1}, "brace-over-centre-left")
    assert marked == [["down lock"], []]


@pytest.mark.parametrize(
    ("step", "now", "marked"),
    [
        ("brush-look", MOTOR, ["brushes"]),
        ("bus-volts", MOTOR, ["bus"]),
        ("selector-feel", {"gear-selector.jammed": 0.05}, ["selector"]),
        ("rod-look-left", LEG, ["left rod"]),
        ("brace-over-centre-left", LEG, ["down lock"]),
        ("ground-safety-continuity", {"ground-safety-switch.lead-chafed": 0.3}, ["ground safety"]),
        ("horn-circuit-volts", {"throttle-switch.open": 0.3, "warning-horn.dead": 0.3}, ["breaker", "throttle switch"]),
        ("brace-over-centre-right", LEG, []),
        ("crank-feel", {"gearbox.grease-stiff": 0.5, "emergency-crank.stiff": 0.3}, []),
        ("retraction-test", LEG, []),
        ("cycle-time", {"gear-motor.bearing-dry": 0.3, "gearbox.grease-stiff": 0.3}, []),
    ],
)
def test_a_check_that_names_no_tap_is_marked_where_it_looks(
    shipped: Book, step: str, now: dict[str, float], marked: list[str]
) -> None:
    """A question, a proof, and a run that sees all of a chain alike look at no place of it."""
    assert next_taps(shipped, now, step) == [marked]


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (1.0, "as good as certain"), (0.95, "about 19 in 20"), (0.94, "about 9 in 10"), (0.6, "about 6 in 10"),
        (0.13, "about 1 in 10"), (0.1, "about 1 in 10"), (0.05, "about 1 in 20"), (0.01, "about 1 in 100"),
        (0.001, "hardly"), (0.0, "hardly"),
    ],
)  # fmt: skip
def test_chances_in_words(probability: float, words: str) -> None:
    """In ten where it is one in ten or more, else one in so many."""
    assert in_words(probability) == words


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0.4, "under a minute"),
        (1.4, "1 min"),
        (59.4, "59 min"),
        (60, "1 h"),
        (94, "1 h 35"),
        (119, "2 h"),
        (144, "2 h 20"),
        (600, "10 h"),
    ],
)
def test_minutes_in_words(minutes: float, words: str) -> None:
    """To the minute below an hour, then to five and ten."""
    assert minutes_in_words(minutes) == words
