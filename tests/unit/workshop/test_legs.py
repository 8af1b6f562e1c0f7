"""Entries of one leg told for whichever leg was noted."""

from __future__ import annotations

import pytest

from faulttree.workshop.legs import any_leg_id, any_leg_words


@pytest.mark.parametrize(("name", "told"), [("look-left", "look-noted"), ("look", "look"), ("left-look", "left-look")])
def test_the_id_for_any_leg(name: str, told: str) -> None:
    """The leg at its end is what changes."""
    assert any_leg_id(name) == told


def test_the_leg_in_a_text_becomes_the_noted_one() -> None:
    """As a word of its own, however it is written."""
    assert any_leg_words("Left rod of the left leg, leftmost", "left") == "noted rod of the noted leg, leftmost"


def test_a_text_without_a_leg_stays() -> None:
    """Nothing is replaced."""
    assert any_leg_words("Jacks left in place", None) == "Jacks left in place"
