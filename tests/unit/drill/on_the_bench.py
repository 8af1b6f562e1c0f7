"""Drills on the made-up family, for the tests of this folder."""

from __future__ import annotations

from functools import cache

from faulttree.book.drills import Practice, Temptation
from faulttree.drill.acts import Act, Told
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import Setting
from faulttree.drill.gear import Hidden, Modes
from faulttree.drill.play import Play
from tests.support.small_family import small_book

TRAP = Temptation(
    "up-on-wheels", "Select UP on the wheels", "check", "It folds.", ("never-prove-ground-safety-on-wheels",)
)


@cache
def bench() -> Bench:
    """The made-up family, with one temptation, and what hurts nobody as the shared practice has it."""
    access = frozenset(["floor-panel-out", "external-power", "gear-powered"])
    practice = Practice(
        temptations={TRAP.id: TRAP}, harmless_to_lack=access, harmless_to_do=frozenset(["motor-breaker-pulled"])
    )
    return Bench(small_book(), practice)


def drill(hard: str = "", sleeping: str = "", seed: int = 1, level: int = 1) -> Play:
    """A drill with one hidden fault, and harmless answers to the opening questions."""
    modes = Modes(frozenset([hard] if hard else ()), frozenset([sleeping] if sleeping else ()))
    opening = {"lowered-by-emergency-means": "no", "legs-known-locked": "yes"}
    setting = Setting(seed, level, ("stays-down",), Hidden(modes, modes), "one fault", "stays down", opening=opening)
    return Play(bench(), setting)


def asked(play: Play) -> Play:
    """The same once it was asked what has to be known first."""
    for question in play.book.opening:
        play.take(Act("opening", question.id))
    return play


def up(play: Play, *conditions: str) -> Play:
    """The same with these set up, one after the other."""
    for name in conditions:
        told = play.take(Act("set-up", name))
        assert told.stop is None, told.stop
    return play


def stop_of(told: Told) -> tuple[str, bool]:
    """The kind of a stop, and whether it counts as unsafe."""
    assert told.stop is not None
    return told.stop.kind, told.stop.danger
