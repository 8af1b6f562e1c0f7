"""What an overlay puts in the place of an entry shows, stops and wants as much: the ways round that were tried."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from faulttree.book import read_texts
from faulttree.book.positions import Problem
from tests.support import plain_yaml

TRIED: dict[str, Any] = plain_yaml.read(Path(__file__).parent / "data" / "ways-round.yaml")


def told(sound: Mapping[str, str], text: str) -> list[Problem]:
    """What is wrong with an overlay over a careful one."""
    careful = {**sound, "careful/demo/a.yaml": TRIED["careful"]}
    assert [str(p) for p in read_texts(careful, "demo").problems] == []
    return list(read_texts({**careful, "shop/demo/b.yaml": text}, "demo").problems)


@pytest.mark.parametrize("way", TRIED["ways_round"])
def test_no_way_round_is_open(sound: Mapping[str, str], way: str) -> None:
    """Each is refused by its rule, in the overlay that tries it."""
    tried = TRIED["ways_round"][way]
    problems = [p for p in told(sound, tried["text"]) if p.rule == tried["rule"]]
    assert problems
    assert {p.position.file for p in problems} == {"shop/demo/b.yaml"}


@pytest.mark.parametrize("text", TRIED["no_ways_round"].values(), ids=[*TRIED["no_ways_round"]])
def test_a_look_that_finds_the_same_may_stand_beside_another(sound: Mapping[str, str], text: str) -> None:
    """A better one is no way round."""
    assert [str(p) for p in told(sound, text)] == []
