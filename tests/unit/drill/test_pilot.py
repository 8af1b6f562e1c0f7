"""What the pilot of a drill says goes with what the same pilot answers."""

from __future__ import annotations

import pytest

from faulttree.book.drills import Heard, Practice
from faulttree.book.positions import Position
from faulttree.drill.drawing import Drawing, Setting
from faulttree.drill.gear import Hidden, Modes
from tests.support.small_family import small_book

HERE = Position("x.drills.yaml", 1, 1)


def says(fault: str, *heard: Heard, seeds: int = 40, opening: str = "yes") -> set[str]:
    """All that pilots say, by so many seeds, of a gear with this fault; nobody errs at this level."""
    drawing = Drawing(small_book(), practice=Practice(heard={one.id: one for one in heard}))
    modes = Modes(frozenset([fault]))
    given = {"lowered-by-emergency-means": "no", "legs-known-locked": opening}
    return {
        drawing.complete(Setting(seed, 1, ("stays-down",), Hidden(modes, modes), "", opening=given)).words
        for seed in range(seeds)
    }


SILENT = Heard("silent", HERE, ("stays down", "no retraction"), {"motor-sound": ("silent",)})


def test_all_sayings_are_said_where_nothing_is_asserted() -> None:
    """Each by some seed."""
    assert says("motor.brushes-worn") == set(small_book().symptoms["stays-down"].says)


def test_what_the_pilot_would_deny_is_not_said() -> None:
    """Worn brushes hum; a stuck switch keeps the motor silent."""
    assert says("motor.brushes-worn", SILENT) == {"wheels wont come up", "would not retract", "stayed down"}
    assert says("guard-switch.stuck", SILENT) == set(small_book().symptoms["stays-down"].says)


def test_an_opening_answer_counts_too() -> None:
    """Words that assert a leg in doubt are not said where every leg is known to be locked."""
    doubt = Heard("doubt", HERE, ("stayed down",), opening={"legs-known-locked": ("no", "not-known")})
    assert "stayed down" not in says("guard-switch.stuck", doubt)
    assert "stayed down" in says("guard-switch.stuck", doubt, opening="no")


def test_words_about_another_kind_of_gear_are_never_said() -> None:
    """Whatever is hidden."""
    never = Heard("other", HERE, ("wont come",), never=True)
    assert "wheels wont come up" not in says("guard-switch.stuck", never)


def test_where_nothing_is_true_the_squawk_is_named() -> None:
    """By its name in the book, which asserts nothing more."""
    all_silent = Heard("all", HERE, ("down", "come", "not", "no"), {"motor-sound": ("silent",)})
    assert says("motor.brushes-worn", all_silent) == {"Gear stays down"}


@pytest.mark.parametrize("text", ["won't come up!", "WONT COME UP", "it wont  come up."])
def test_words_are_heard_however_they_are_spelt(text: str) -> None:
    """Small letters, apostrophes and blanks aside; whole words only."""
    assert Heard("x", HERE, ("wont come up",)).said(text, ())
    assert not Heard("x", HERE, ("wont come u",)).said(text, ())
