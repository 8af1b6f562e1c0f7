"""Plays drills with scripted learners and counts what must hold of every one of them.

    python tests/jobs/drills.py --drills 10000 --seed 1 --processes 2

Every drill ends; what is hidden is found and mended by a learner who knows it; the advisor is never stopped; acts
played again give the same drill. With drills as they come (level 0) the answers have the frequencies that belief
foretells, and the advisor takes the minutes that it foretold, both within the error of sampling.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the program itself does it

from faulttree.advice import Suggestion
from faulttree.book import read_book
from faulttree.book.drills import read_practice
from faulttree.drill.acts import Act
from faulttree.drill.advised import Advised
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import AS_IT_COMES, LEVELS, Setting, Wanted
from faulttree.drill.play import COMES_BACK, HELP, SOLVED, Play
from tests.jobs.learners import LEARNERS

ROOT = Path(__file__).resolve().parents[2]
FAMILIES = ("electromechanical", "power-pack", "engine-driven")
BINS = 10
LOT = 100
"""Drills that one process plays before it takes the next lot."""


@dataclass
class Count:
    """What was counted. ``wrong`` are drills that broke something, in words.

    ``foretold`` and ``took`` are minutes of the advisor's drills as they come, drill by drill; ``expected`` and
    ``seen`` outcomes by the tenth that their probability lies in, ``spread`` their variances.
    """

    drills: int = 0
    ends: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    stops: Counter[str] = field(default_factory=Counter)
    foretold: list[float] = field(default_factory=list)
    took: list[float] = field(default_factory=list)
    expected: list[float] = field(default_factory=lambda: [0.0] * BINS)
    spread: list[float] = field(default_factory=lambda: [0.0] * BINS)
    seen: list[float] = field(default_factory=lambda: [0.0] * BINS)

    def add(self, other: Count) -> None:
        """Takes another count in."""
        self.drills += other.drills
        self.ends += other.ends
        self.wrong += other.wrong
        self.stops += other.stops
        self.foretold += other.foretold
        self.took += other.took
        for mine, more in ((self.expected, other.expected), (self.spread, other.spread), (self.seen, other.seen)):
            mine[:] = [a + b for a, b in zip(mine, more, strict=True)]

    def meet(self, step: Suggestion, outcome: str) -> None:
        """One answer beside what was foretold of it."""
        for ahead in step.outcomes:
            place = min(int(ahead.probability * BINS), BINS - 1)
            self.expected[place] += ahead.probability
            self.spread[place] += ahead.probability * (1.0 - ahead.probability)
            self.seen[place] += ahead.id == outcome

    def off(self) -> list[float]:
        """For each tenth how far what was seen is off, in standard errors. Outcomes of one check count as if they were
        independent, which makes this a little too strict."""
        return [
            (s - e) / math.sqrt(v) if v > 0 else 0.0
            for s, e, v in zip(self.seen, self.expected, self.spread, strict=True)
        ]

    def minutes(self) -> tuple[float, float, float]:
        """Mean minutes taken, mean foretold, standard error of their difference."""
        n = len(self.took)
        if n < 2:
            return 0.0, 0.0, 0.0
        gap = [t - f for t, f in zip(self.took, self.foretold, strict=True)]
        mean = sum(gap) / n
        error = math.sqrt(sum((g - mean) ** 2 for g in gap) / (n - 1) / n)
        return sum(self.took) / n, sum(self.foretold) / n, error

    def lines(self) -> list[str]:
        """What is printed."""
        took, foretold, error = self.minutes()
        found = [f"drills {self.drills}, broken {len(self.wrong)}", *self.wrong[:10]]
        found += [f"  {name}: {count}" for name, count in sorted(self.ends.items())]
        found += [f"  stopped, {name}: {count}" for name, count in sorted(self.stops.items())]
        found.append(f"advisor, as it comes: {len(self.took)} drills, took {took:.1f}, foretold {foretold:.1f}, "
                     f"standard error {error:.1f}")  # fmt: skip
        found.append("answers by tenths of their probability, seen / foretold (standard errors off):")
        rows = zip(self.seen, self.expected, self.off(), strict=True)
        found += [f"  {i / BINS:.1f}: {s:.0f} / {e:.1f} ({z:+.1f})" for i, (s, e, z) in enumerate(rows)]
        return found


@lru_cache(maxsize=3)
def bench_of(family: str) -> Bench:
    """The shipped book of a family, with what is written for practice."""
    reading, practice = read_book([ROOT / "knowledge"], family), read_practice([ROOT / "knowledge"], family)
    assert reading.book is not None, reading.problems
    assert not practice.problems, practice.problems
    return Bench(reading.book, practice.practice)


def play_one(bench: Bench, advised: Advised, learner: str, wanted: Wanted, count: Count) -> Play:
    """One drill with one learner, held against what must hold of it."""
    setting = bench.drawing.draw(wanted)
    play = LEARNERS[learner](bench, advised, setting)
    count.drills += 1
    count.ends[f"{learner}, level {wanted.level}, {play.ended or 'no end'}"] += 1
    count.stops.update(f"{learner}: {t.stop.kind}" for t in play.told if t.stop is not None and t.stop.danger)
    where = f"{bench.book.family}, {learner}, level {wanted.level}, seed {wanted.seed}"
    count.wrong += [f"{where}: {what}" for what in _wrong(bench, play, learner)]
    return play


def _wrong(bench: Bench, play: Play, learner: str) -> list[str]:
    found = [] if play.ended else ["does not end"]
    if learner == "advisor" and any(told.stop for told in play.told):
        found.append("the advisor is stopped")
    if learner == "knowing" and play.ended == HELP and not _all_tried(bench, play):
        found.append("what is hidden is not found by whoever knows it")
    again = Play(bench, play.setting).replay(play.acts)
    if (again.ended, again.minutes, again.told) != (play.ended, play.minutes, play.told):
        found.append("played again it is another drill")
    return found


def _all_tried(bench: Bench, play: Play) -> bool:
    """Whether nothing of the book mends what still stands, or each repair of it was done that is done once only."""
    actions = bench.book.actions.values()
    able = [a for a in actions if not play.gear.now.all.isdisjoint(a.corrects)]
    return all(a.once and a.id in play.repairs for a in able)


def as_it_comes(bench: Bench, advised: Advised, setting: Setting, count: Count) -> Play:
    """A drill as it comes, worked by the advisor, with what it foretold beside what came."""
    play = Play(bench, setting)
    for question in bench.book.opening:
        play.take(Act("opening", question.id))
    promise = advised.promise(play)
    while not play.ended:
        step, done = advised.step(play), advised.go_on(play)
        answered = done[-1] if done else None
        if step is not None and answered is not None and answered.outcome and answered.act.id == step.id:
            count.meet(step, answered.outcome)
    count.drills += 1
    count.ends[f"advisor, level 0, {play.ended}"] += 1
    if promise is not None:
        count.foretold.append(promise.mean)
        count.took.append(play.minutes)
    return play


def play_lot(family: str, seed: int, first: int, drills: int, learners: Sequence[str]) -> Count:
    """Some drills of one family: levels and learners take turns, and symptoms after each lot, since drills of one
    symptom share most of their advice."""
    bench = bench_of(family)
    advised, count = Advised(bench), Count()
    levels = [level for level in LEVELS if level != AS_IT_COMES]
    for number in range(first, first + drills):
        learner = learners[number % len(learners)]
        level = levels[number // len(learners) % len(levels)]
        able = [symptom for symptom in bench.book.symptoms if bench.drawing.can_be(symptom, level)]
        symptom = able[number // LOT % len(able)]
        play_one(bench, advised, learner, Wanted(level, seed * 1_000_003 + number, symptom), count)
    return count


def play_as_it_comes(family: str, seed: int, symptom: str, drills: int) -> Count:
    """Drills as they come of one symptom, by the advisor: they share most of their advice."""
    bench = bench_of(family)
    advised, count = Advised(bench), Count()
    for number in range(drills):
        setting = bench.drawing.draw(Wanted(AS_IT_COMES, seed * 1_000_003 + number, symptom))
        as_it_comes(bench, advised, setting, count)
    return count


def main(words: Sequence[str] | None = None) -> int:
    """Plays drills and prints what came of them. Returns 1 where anything broke."""
    parser = argparse.ArgumentParser(description="Plays drills with scripted learners.")
    parser.add_argument("--drills", type=int, default=10_000, help="at the three levels, all learners together")
    parser.add_argument("--as-it-comes", type=int, default=1_500, help="more, by the advisor alone, at level 0")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2))
    parser.add_argument("--family", default=None, choices=FAMILIES)
    asked = parser.parse_args(words)
    start, total = time.perf_counter(), Count()
    families = [asked.family] if asked.family else list(FAMILIES)
    with ProcessPoolExecutor(asked.processes) as workers:
        running = []
        for family in families:
            each = asked.drills // len(families)
            for first in range(0, each, LOT):
                lot = min(LOT, each - first)
                running.append(workers.submit(play_lot, family, asked.seed, first, lot, list(LEARNERS)))
            symptoms = list(bench_of(family).book.symptoms)
            share = asked.as_it_comes // (len(families) * len(symptoms))
            running += [workers.submit(play_as_it_comes, family, asked.seed, s, share) for s in symptoms if share]
        for one in running:
            total.add(one.result())
            print(f"{total.drills} drills, {time.perf_counter() - start:.0f} s", file=sys.stderr, flush=True)
    print("\n".join([*total.lines(), f"seconds {time.perf_counter() - start:.0f}"]))
    assert sum(total.ends[name] for name in total.ends if name.endswith((SOLVED, COMES_BACK, HELP))) == total.drills
    return 1 if total.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
