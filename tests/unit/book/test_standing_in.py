"""What an overlay puts in the place of an entry shows, stops and wants as much: the ways round that were tried."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from faulttree.book import read_texts
from faulttree.book.positions import Problem

CAREFUL = """\
checks:
  look-at-lock:
    amends: true
    people: 2
    outcomes: {dry: {label: Dry, when: lock.dry, bars: [master-on]}, good: {label: Good, otherwise: true}}
  look-at-bus: {amends: true, cautions: [jacks-slip]}
actions:
  oil-lock: {amends: true, once: true, after_any: [look-at-lock], who: A mechanic}
  fix-bus: {amends: true, cautions: [hot-bus]}
symptoms:
  no-up: {amends: true, pilot_advice: [Leave it down]}
"""

NUMBERS = "minutes: 3, detects: 0.9, false_alarm: 0.1, basis: estimate"
FEEL = (
    "  feel-lock: {name: Feel the lock, kind: look, each_leg: true, people: 2, cautions: [jacks-slip], %s, outcomes: "
)
FEEL %= NUMBERS
RETIRED = "  look-at-lock: {retires: true, reason: x}\n"
USERS = "actions:\n" + "".join(
    f"  {name}: {{amends: true, follow_up: [feel-lock]}}\n" for name in ("oil-lock", "straighten-doors")
)
GOOD = "good: {label: Good, otherwise: true}}}\n"
MENDS = "faults:\n  lock.dry: {amends: true, corrected_by: [grease-lock]}\n"
GREASE = (
    "actions:\n  oil-lock: {retires: true, reason: x}\n  grease-lock: {name: Grease it, each_leg: true, %s}\n" + MENDS
)
LIKE = "minutes: 5, basis: estimate, needs: [on-jacks], follow_up: [look-at-lock]"

ROUND = {
    "a twin that stops nothing": ("checks:\n" + RETIRED + FEEL + "{dry: {label: Dry, when: lock.dry}, " + GOOD + USERS, "care-kept"),
    "a twin for fewer people": (
        ("checks:\n" + RETIRED + FEEL + "{dry: {label: Dry, when: lock.dry, bars: [master-on]}, " + GOOD + USERS).replace("people: 2, ", ""),
        "care-kept",
    ),
    "a twin with one thing more, without jacks": (
        ("checks:\n" + RETIRED + FEEL + "{dry: {label: Dry, when: lock.dry, bars: [master-on]}, dark: {label: Dark, when: lamp.dark}, " + GOOD
         + USERS).replace("cautions: [jacks-slip], ", ""),
        "cautions-kept",
    ),
    "a question of now in the place of a look": (
        "checks:\n" + RETIRED + "  feel-lock: {name: Felt, kind: ask, about: now, ask: Is it dry?, each_leg: true, " + NUMBERS
        + ", outcomes: {dry: {label: Dry, when: lock.dry}, " + GOOD + USERS,
        "cautions-kept",
    ),
    "a repair done again and again": (GREASE % (LIKE + ", after_any: [look-at-lock], who: A mechanic"), "care-kept"),
    "a repair with nothing looked at": (GREASE % (LIKE + ", once: true, who: A mechanic"), "care-kept"),
    "a repair by anybody": (GREASE % (LIKE + ", once: true, after_any: [look-at-lock], who: Anybody"), "care-kept"),
    "a repair followed by nothing": (
        GREASE % (LIKE.replace(", follow_up: [look-at-lock]", "") + ", once: true, after_any: [look-at-lock], who: A mechanic"),
        "care-kept",
    ),
    "an action of the book in the place of another": (
        "actions:\n  fix-bus: {retires: true, reason: x}\nfaults:\n  bus.dead: {amends: true, corrected_by: [new-lamp]}\n",
        "cautions-kept",
    ),
    "a check of the book in the place of another": (
        "checks:\n  look-at-bus: {retires: true, reason: x}\n  swing-lamp: {name: S, kind: test, proof: true, " + NUMBERS
        + ", outcomes: {bad: {label: B, when: bus.dead}, " + GOOD + "actions:\n  fix-bus: {amends: true, follow_up: [swing-lamp]}\n",
        "cautions-kept",
    ),
    "labels that change places": (
        "checks:\n  look-at-lock: {amends: true, outcomes: {dry: {label: Good, when: lock.dry, bars: [master-on]}, "
        "good: {label: Dry, otherwise: true}}}\n",
        "words-kept",
    ),
    "words before the words": (
        "conditions:\n  on-jacks: {amends: true, set_up: {words: The rest is out of date. Jack it up, minutes: 30}}\n",
        "words-kept",
    ),
    "another name for a hazard": ("conditions:\n  on-jacks: {amends: true, name: Board it}\n", "words-kept"),
    "a symptom with more below it that tells the pilot nothing": (
        "symptoms:\n  no-up: {retires: true, reason: x}\n  wont: {name: W, says: [a, b, c, d, e], cautions: [manual-governs], "
        "when: {any_of: [feed, leg-held, lamp.dark]}}\n",
        "care-kept",
    ),
}  # fmt: skip


def told(sound: Mapping[str, str], text: str) -> list[Problem]:
    """What is wrong with an overlay over a careful one."""
    careful = {**sound, "careful/demo/a.yaml": CAREFUL}
    assert [str(p) for p in read_texts(careful, "demo").problems] == []
    return list(read_texts({**careful, "shop/demo/b.yaml": text}, "demo").problems)


@pytest.mark.parametrize("way", ROUND)
def test_no_way_round_is_open(sound: Mapping[str, str], way: str) -> None:
    """Each is refused by its rule, in the overlay that tries it."""
    text, rule = ROUND[way]
    problems = [p for p in told(sound, text) if p.rule == rule]
    assert problems
    assert {p.position.file for p in problems} == {"shop/demo/b.yaml"}


BETTER = "  scope: {name: Scope, kind: look, each_leg: true, people: 2, needs: [on-jacks], %s, outcomes: " % NUMBERS
BETTER += "{dry: {label: Dry, when: lock.dry, bars: [master-on]}, " + GOOD


@pytest.mark.parametrize(
    "text",
    [
        "actions:\n  oil-lock: {amends: true, after_any: [look-at-lock, scope]}\nchecks:\n" + BETTER,
        "checks:\n"
        + BETTER
        + "  look-at-lock: {amends: true, outcomes: {dry: {label: Dry, when: lock.dry, bars: [master-on], "
        "until: [scope]}, " + GOOD,
    ],
    ids=["looked at by it", "lifted by it"],
)
def test_a_look_that_finds_the_same_may_stand_beside_another(sound: Mapping[str, str], text: str) -> None:
    """A better one is no way round."""
    assert [str(p) for p in told(sound, text)] == []
