"""How learners come on: drills, minutes against the best, cautions, parts wasted, by subsystem and level; what next."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.belief import Evidence, Reported
from faulttree.drill.bench import Bench
from faulttree.drill.chance import Stream
from faulttree.drill.drawing import HARD, HARDER, Setting, Wanted
from faulttree.drill.play import COMES_BACK, HELP, SOLVED

OTHER = "other"
"""The subsystem of a part that names no sub-chapter."""

GOOD, ENOUGH = 0.35, 2
"""Weakness below which a level is mastered, in so many drills one after the other."""

UNTRIED = 0.8
"""The weakness of a subsystem in which nothing was drilled yet."""


ENDED = {SOLVED: 0.0, COMES_BACK: 0.5, HELP: 1.5}
"""What an end adds to weakness. Giving up counts as if it had taken twice as long and come back."""


@dataclass(frozen=True, slots=True)
class Done:
    """One drill that was worked to its end, as it counts. ``score`` is that of the debrief, as plain data."""

    who: str
    at: str
    family: str
    level: int
    subsystem: str
    score: Mapping[str, Any]

    @property
    def against_best(self) -> float:
        """Minutes, those that a squawk costs which came back included, as a ratio to the advisor's."""
        return float((self.score["minutes"] + self.score.get("lost", 0.0)) / max(self.score["best"], 1.0))

    @property
    def given_up(self) -> bool:
        """Whether it was handed over: its minutes are the specialist's and say nothing of anybody's pace."""
        return bool(self.score["ended"] == HELP)

    @property
    def weakness(self) -> float:
        """How far it was from what a good troubleshooter does; 0 is as good."""
        s = self.score
        pace = ENDED[HELP] if self.given_up else ENDED.get(s["ended"], 0.5) + max(self.against_best - 1.0, 0.0)
        order = 0.05 * (s["missed"] + s.get("out_of_order", 0))
        return float(pace + 0.25 * s["unsafe"] + order + 0.5 * s["wasted"] + 0.2 * s["misread"])


@dataclass(frozen=True, slots=True)
class Row:
    """Drills of one learner in one subsystem at one level, added up.

    ``minutes`` and ``best`` are means, ``against_best`` a mean of ratios, over the drills that were not given up; None
    where all were.
    """

    who: str
    family: str
    subsystem: str
    level: int
    drills: int
    solved: int
    given_up: int
    minutes: float | None
    best: float | None
    against_best: float | None
    unsafe: int
    out_of_order: int
    missed: int
    wasted: int
    misread: int


def subsystem_of(bench: Bench, setting: Setting) -> str:
    """The ATA sub-chapter of the part that is to blame, of the first of several by name."""
    faults = sorted(setting.hidden.now.all)
    return _subsystem(bench, faults[0]) if faults else OTHER


def _subsystem(bench: Bench, fault: str) -> str:
    part = bench.book.components[bench.book.faults[fault].component]
    return part.ata or OTHER


def rows(done: Iterable[Done]) -> list[Row]:
    """Drills added up by learner, family, subsystem and level."""
    groups: dict[tuple[str, str, str, int], list[Done]] = defaultdict(list)
    for one in done:
        groups[one.who, one.family, one.subsystem, one.level].append(one)
    return [_row(key, groups[key]) for key in sorted(groups)]


def by_learner(done: Iterable[Done]) -> list[Row]:
    """All drills of each learner added up."""
    groups: dict[str, list[Done]] = defaultdict(list)
    for one in done:
        groups[one.who].append(one)
    return [_row((who, "", "", 0), groups[who]) for who in sorted(groups)]


def _row(key: tuple[str, str, str, int], drills: Sequence[Done]) -> Row:
    worked = [one for one in drills if not one.given_up]

    def total(name: str) -> int:
        return int(sum(one.score.get(name, 0) for one in drills))

    def mean(of: Callable[[Done], float]) -> float | None:
        return sum(map(of, worked)) / len(worked) if worked else None

    return Row(
        *key, drills=len(drills), solved=sum(one.score["ended"] == SOLVED for one in drills),
        given_up=len(drills) - len(worked), minutes=mean(lambda one: float(one.score["minutes"])),
        best=mean(lambda one: float(one.score["best"])), against_best=mean(lambda one: one.against_best),
        unsafe=total("unsafe"), out_of_order=total("out_of_order"), missed=total("missed"), wasted=total("wasted"),
        misread=total("misread"),
    )  # fmt: skip


def pick_next(bench: Bench, done: Sequence[Done], seed: int) -> Wanted:
    """A drill where this learner is weak: the weakest subsystem, at the level that is not mastered there yet.

    ``done`` are the drills of one learner, the oldest first. A subsystem is practised by a squawk that it brings about.
    """
    mine = [one for one in done if one.family == bench.book.family]
    reach = _reach(bench)
    weak = {name: _weakness([one for one in mine if one.subsystem == name]) for name in sorted(reach)}
    stream = Stream(seed, "next")
    names = list(weak)
    subsystem = names[stream.place([weak[name] ** 2 + 0.01 for name in names])]
    level = _level([one for one in mine if one.subsystem == subsystem])
    able = {s: share for s, share in reach[subsystem].items() if bench.drawing.can_be(s, level)}
    symptoms = list(able)
    return Wanted(level, seed, symptoms[stream.place([able[s] for s in symptoms])])


def _reach(bench: Bench) -> dict[str, dict[str, float]]:
    """For each subsystem the squawks that it brings about, with the share that it has in each."""
    found: dict[str, dict[str, float]] = defaultdict(dict)
    for symptom in bench.book.symptoms:
        faults = bench.believer.believe(Evidence((Reported(symptom),))).faults
        shares: dict[str, float] = defaultdict(float)
        for fault in bench.advisor.gates.below(bench.book.symptoms[symptom].when):
            shares[_subsystem(bench, fault)] += faults[fault].probability
        for name, share in shares.items():
            if share > 0.02:
                found[name][symptom] = share
    return found


def _weakness(drills: Sequence[Done]) -> float:
    """The mean of the latest three."""
    latest = drills[-3:]
    return sum(one.weakness for one in latest) / len(latest) if latest else UNTRIED


def _level(drills: Sequence[Done]) -> int:
    """The lowest level of which the latest drills were not good yet."""
    for level in range(HARD, HARDER):
        latest = [one for one in drills if one.level == level][-ENOUGH:]
        if len(latest) < ENOUGH or any(one.weakness > GOOD for one in latest):
            return level
    return HARDER
