"""What is heard in the sayings of a pilot is held against the causes of the squawk by `knowledge check`."""

from __future__ import annotations

from faulttree.book.drills import Heard, Practice, Scenario
from faulttree.book.positions import Position
from faulttree.workshop.rules.saying_fits import fitting
from tests.support.small_family import small_book

HERE = Position("x.drills.yaml", 3, 3)


def told(heard: Heard, *scenarios: Scenario) -> list[str]:
    """What is wrong with it on the made-up family."""
    practice = Practice(heard={heard.id: heard}, scenarios={one.id: one for one in scenarios})
    return [problem.what for problem in fitting(practice, small_book())]


def silent(*words: str, answer: str = "silent") -> Heard:
    """Words that assert an answer to the question about the motor."""
    return Heard("quiet", HERE, words, {"motor-sound": (answer,)})


def test_words_that_go_with_some_cause_are_sound() -> None:
    """A saying of the family, and a cause by which the motor is silent."""
    assert told(silent("stays down")) == []


def test_words_that_no_pilot_says_are_told() -> None:
    """They watch over nothing."""
    assert told(silent("stays downn")) == ["`quiet`: no pilot says any of its words"]


def test_words_of_a_fixed_drill_count() -> None:
    """Its pilot says them."""
    fixed = Scenario("x", "X", HERE, "made-up", ("stays-down",), "not a sound", ("guard-switch.stuck",))
    assert told(silent("not a sound"), fixed) == []


def test_a_saying_that_no_cause_answers_to_is_told() -> None:
    """It would never be said."""
    (found,) = told(silent("no retraction", answer="sang"))
    assert found == '"no retraction" of `stays-down` goes with none of its causes as `quiet` hears it'


def test_words_about_another_kind_of_gear_need_no_cause() -> None:
    """They are never said, which is what was meant."""
    assert told(Heard("crank", HERE, ("no retraction",), never=True)) == []
