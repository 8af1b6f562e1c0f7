"""The streams that drills are drawn from: the same for a seed on every machine."""

from __future__ import annotations

import hashlib
import random
from collections import Counter

import pytest

from faulttree.drill.chance import Stream


def test_a_stream_is_random_seeded_by_the_digest_of_seed_and_name() -> None:
    """Nothing but ``random.Random(number).random()``, whose sequence the standard library promises."""
    number = int.from_bytes(hashlib.sha256(b"7 look bus-volts 0").digest()[:8], "big")
    drawn, promised = Stream(7, "look", "bus-volts", 0), random.Random(number)
    assert [drawn.share() for _ in range(5)] == [promised.random() for _ in range(5)]


def test_numbers_are_those_of_every_machine() -> None:
    """Written down once; a machine or version that gives others would give other drills."""
    stream = Stream(4711, "hidden")
    assert [round(stream.share(), 12) for _ in range(3)] == PINNED


PINNED = [0.691788131271, 0.586675067871, 0.814032092034]


def test_places_come_as_often_as_their_weights_say() -> None:
    """Four thousand draws by 1, 0, 3: three quarters on the last, none on the middle one (4 standard errors)."""
    stream = Stream(1, "places")
    counted = Counter(stream.place([1.0, 0.0, 3.0]) for _ in range(4000))
    assert counted[1] == 0
    assert abs(counted[2] - 3000) < 4 * (4000 * 0.75 * 0.25) ** 0.5


def test_nothing_to_draw_from_is_an_error() -> None:
    """Weights that are all 0."""
    with pytest.raises(ValueError, match="nothing"):
        Stream(1, "none").place([0.0, 0.0])


def test_some_are_drawn_once_each() -> None:
    """All of them where there are no more."""
    assert sorted(Stream(3, "some").some(5, ["a", "b", "c"])) == ["a", "b", "c"]
