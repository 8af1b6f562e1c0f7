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


LISTEN = """checks:
  listen:
    name: Listen at the legs
    kind: look
    minutes: 1
    outcomes: {grinds: {label: It grinds, when: leg-held-left}, still: {label: Still, otherwise: true}}
    detects: 0.9
    false_alarm: 0.1
    basis: estimate
"""


def test_an_event_with_less_in_it_takes_no_caution_of_a_part_away(sound: Mapping[str, str]) -> None:
    """Told where the overlay took it out, with the check that loses by it."""
    careful = "components: {lock: {amends: true, cautions: [jacks-slip]}}\n"
    less = "events: {leg-held: {amends: true, any_of: [door.bent]}}\n"
    texts = {**sound, "demo/more.yaml": LISTEN, "careful/demo/a.yaml": careful}
    assert [str(p) for p in read_texts(texts, "demo").problems] == []
    (found,) = read_texts({**texts, "shop/demo/a.yaml": less}, "demo").problems
    assert (found.rule, found.position.file) == ("parts-kept", "shop/demo/a.yaml")
    assert found.right == "add to the `cautions` of `listen`: jacks-slip"


BROKEN = (
    "checks:\n  look-at-lock: {amends: true, fitted: [two-lamps], adds: {outcomes: {dry: {until: [odd]}}}}\n"
    "  odd: {name: Odd, kind: look, minutes: -1, outcomes: {bad: {label: Bad, when: lock.dry}, ok: {label: Ok}}}\n"
    "  odder: {name: Odder, kind: look, outcomes: [bad]}\n  oddest: odd\n"
)


def test_entries_that_are_wrong_themselves_end_no_rule(sound: Mapping[str, str]) -> None:
    """They are told as that, and the others are judged all the same."""
    rules = {problem.rule for problem in told(sound, BROKEN)}
    assert {"amends-keep", "range"} <= rules
