"""Follows go-to charts on simulated jobs: no caution skipped, no dead end, and how many minutes against the advice.

    python tests/jobs/chart_followed.py --jobs 60 --seed 1 --processes 2

Whoever follows has the printed chart and nothing else: its steps, and ticks for what was done. What a step ought to
show as cautions, which moves are allowed and what a finding bars is worked out from the book by the rules of
``tests/jobs/rules``. The same gears are worked by the advice, one step after another, for comparison.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any
from zlib import crc32

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the program itself does it

import numpy as np

from faulttree.book import families
from faulttree.book.model import Action, Book, Check
from faulttree.papers import page_count
from faulttree.workshop.chart import Limits, fitting
from tests.jobs.gear import POOL, Gear, Job, Modes
from tests.jobs.rules import Facts, wrong_move
from tests.jobs.run import ROOT, Player, draw_pools, shipped_book

PAGES = 4
MOST = 1.25
"""So many times the minutes of the advice a chart may take."""

END, HELP = "end", "help"


@dataclass
class Walk:
    """One job by the chart: minutes on the clock, how it ended (``end`` proved, ``help``), what was wrong with it.

    ``hidden``: proved while a cause still stood. ``stopped``: help was called since a finding of a check after a repair
    spoke against the next step.
    """

    minutes: float = 0.0
    ended: str = ""
    hidden: bool = False
    stopped: bool = False
    steps: list[int] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


class Follower:
    """Follows one chart on gears."""

    def __init__(self, book: Book, chart: Mapping[str, Any]) -> None:
        self.book, self.facts, self.symptom = book, Facts(book), chart["symptom"]["id"]
        self.steps = {step["number"]: step for step in chart["steps"]}

    def follow(self, gear: Gear) -> Walk:
        """From step 1 to an end."""
        on_the_way = _OnTheWay(self, gear)
        on_the_way.go()
        return on_the_way.walk


class _OnTheWay:
    def __init__(self, follower: Follower, gear: Gear) -> None:
        self.follower, self.book, self.gear, self.walk = follower, follower.book, gear, Walk()
        self.leg = ""
        self.standing: set[str] = set()
        self.shown: dict[str, str] = {}
        self.since: dict[str, str] = {}
        self.ticked: dict[int, tuple[str, str]] = {}
        self.acted: set[str] = set()
        self.after_repair: set[str] = set()

    def go(self) -> None:
        """Step after step; one that leads back, or nowhere, is wrong."""
        number = 1
        while not self.walk.ended:
            step = self.follower.steps.get(number)
            if step is None or (self.walk.steps and number <= self.walk.steps[-1]):
                self._wrong(f"step {number} is not there, or not a later one")
                return
            self.walk.steps.append(number)
            if step["kind"] == HELP:
                self._end(HELP)
                return
            go = self._do(step)
            if go in (END, HELP):
                self._end(go)
            else:
                number = int(go)

    def _end(self, how: str) -> None:
        self.walk.ended = how
        if how == HELP:
            self.walk.minutes += self.book.defaults.help
        else:
            self.walk.minutes += sum(self.book.conditions[c].restore_minutes for c in self.standing)
            self.walk.hidden = self.gear.faulty

    # -- steps -----------------------------------------------------------------------------------------

    def _do(self, step: Mapping[str, Any]) -> Any:
        if step["kind"] == "back":
            return self._look_back(step)
        return self._act(step) if step["kind"] == "act" else self._check(step)

    def _look_back(self, step: Mapping[str, Any]) -> Any:
        """What was ticked at the last of the named steps that was done; whoever did none of them has a way on too."""
        last = "not-done"
        for one in sorted(step["looked_up"], key=lambda one: one["number"]):
            check, shown = self.ticked.get(one["number"], ("", ""))
            last = shown if check == step["id"] else last
        return self._go(step, last)

    def _check(self, step: Mapping[str, Any]) -> Any:
        check = self.book.checks[self._of_leg(step)["id"]]
        if step["again"] and check.id in self.since:
            return self._go(step, self.since[check.id])
        if check.id in self._settled():
            self._wrong(f"step {step['number']} asks {check.id}, which an answer made needless")
        if not self._ready(step, check, step["moves"], step):
            return HELP
        self.since[check.id] = self._show(check)
        self.ticked[step["number"]] = check.id, self.since[check.id]
        return self._go(step, self.since[check.id])

    def _act(self, step: Mapping[str, Any]) -> Any:
        of_leg = self._of_leg(step)
        action = self.book.actions[of_leg["id"]]
        if step["again"] and action.id in self.acted:
            return self._go(step, "remains")
        if action.after_any and not self._barred_all(action) and self.shown.keys().isdisjoint(action.after_any):
            self._wrong(f"{action.id} comes before any of {', '.join(action.after_any)}")
        if not self._ready(step, action, step["moves"], step):
            return HELP
        self.walk.minutes += action.minutes
        self.gear.repair(action.id)
        self.acted.add(action.id)
        self.since = {c: o for c, o in self.since.items() if self.book.checks[c].about == "squawk"}
        well = True
        for place, (due, name) in enumerate(zip(step["due"], of_leg["due"], strict=True)):
            check = self.book.checks[name]
            if due["if_stopped"] and not any(self._against(self.book.checks[c]) for c in of_leg["due"][place + 1 :]):
                continue
            self.after_repair.update(self._against(check))
            if self._against(check):
                # What was found since the repair stops its proof: it is not proved, and the next step is to come.
                return self._go(step, "remains")
            if not self._ready(step, check, due["moves"], step):
                return HELP
            shown = self._show(check)
            if self._outcome(check.id, shown).bars:
                shown = self._show(check)  # what would stop the rest is looked at once more at once
            self.after_repair.add(check.id)
            if due["proof"] and shown != check.outcomes[-1].id:
                well = False
        return self._go(step, "proved" if well else "remains")

    def _go(self, step: Mapping[str, Any], outcome: str) -> Any:
        found = next((o for o in step["outcomes"] if o["id"] == outcome), None)
        if found is None:
            self._wrong(f"step {step['number']} has no way on from {outcome}")
            return HELP
        self.leg = found["notes"] or self.leg
        return found["go"]

    def _of_leg(self, step: Mapping[str, Any]) -> Mapping[str, Any]:
        """What is done and due, at a step for the noted leg by that leg."""
        if not step["by_leg"]:
            return {"id": step["id"], "due": [due["check"] for due in step["due"]]}
        if self.leg not in step["by_leg"]:
            self._wrong(f"step {step['number']} is for a noted leg, and {self.leg or 'none'} was noted")
            return next(iter(step["by_leg"].values()))
        return step["by_leg"][self.leg]

    def _show(self, check: Check) -> str:
        self.walk.minutes += check.minutes
        shown = self.gear.show(check.id)
        self.shown[check.id] = shown
        return shown

    # -- what holds before a step ----------------------------------------------------------------------

    def _ready(self, step: Mapping[str, Any], item: Check | Action, ways: Any, of: Mapping[str, Any]) -> bool:
        """Moves to what an item needs, cautions read; False where something found speaks against it."""
        against = self._against(item)
        if against:
            if against.isdisjoint(self.after_repair):
                self._wrong(f"step {step['number']} needs what {', '.join(sorted(against))} bars")
            self.walk.stopped = True
            return False
        way = next((way for way in ways if sorted(self.standing) in way["from"]), None)
        if way is None:
            self._wrong(f"step {step['number']} knows no way from {sorted(self.standing)}")
            return False
        off = self._put_back(way)
        self._move(step, off, "restored")
        on = [c["id"] for c in way["set_up"] if c["id"] not in self.standing]
        self._move(step, on, "set up")
        needs = self.follower.facts.with_implied(item.needs)
        if not needs <= self.standing:
            self._wrong(f"step {step['number']}: {', '.join(sorted(needs - self.standing))} does not stand")
        missing = self._cautions(item, needs.union(off, on)) - set(of["cautions"])
        if missing:
            self._wrong(f"step {step['number']} lacks {', '.join(sorted(missing))} for {item.id}")
        return True

    def _put_back(self, way: Mapping[str, Any]) -> list[str]:
        """What stands of what is to be put back; some of it only where something else is moved."""
        off: set[str] = set()
        while True:
            moved = off | {c["id"] for c in way["set_up"] if c["id"] not in self.standing - off}
            here = {
                c["id"] for c in way["put_back"]
                if c["id"] in self.standing and (not c["since"] or not moved.isdisjoint(c["since"]))
            }  # fmt: skip
            if here <= off:
                return [c["id"] for c in way["put_back"] if c["id"] in off]
            off |= here

    def _move(self, step: Mapping[str, Any], names: Iterable[str], verb: str) -> None:
        for name in names:
            for told in wrong_move(self.book, f"step {step['number']}", name, self.standing, verb):
                self._wrong(told)
            condition = self.book.conditions[name]
            self.walk.minutes += condition.restore_minutes if verb == "restored" else condition.set_up_minutes
            (self.standing.discard if verb == "restored" else self.standing.add)(name)

    def _cautions(self, item: Check | Action, touched: Iterable[str]) -> set[str]:
        kind = "act" if isinstance(item, Action) else "ask" if item.kind == "ask" else "check"
        wanted = set(self.follower.facts.own_cautions(kind, item))
        wanted.update(*(self.book.conditions[c].cautions for c in touched))
        if kind != "ask":
            wanted.update(self.book.symptoms[self.follower.symptom].cautions)
        return wanted

    def _settled(self) -> set[str]:
        """Questions that an answer made needless."""
        return {name for check, shown in self.shown.items() for name in self._outcome(check, shown).needless}

    def _against(self, item: Check | Action) -> set[str]:
        """Checks whose finding speaks against what an item needs."""
        needs = self.follower.facts.with_implied(item.needs)
        found = set()
        for name, shown in self.shown.items():
            told = self._outcome(name, shown)
            lifted = any(needs.isdisjoint(self._outcome(c, self.shown[c]).bars) for c in told.until if c in self.shown)
            if not needs.isdisjoint(told.bars) and not lifted:
                found.add(name)
        return found

    def _barred_all(self, action: Action) -> bool:
        return all(self._against(self.book.checks[c]) or not self.book.checks[c].proposed for c in action.after_any)

    def _outcome(self, check: str, shown: str) -> Any:
        return next(o for o in self.book.checks[check].outcomes if o.id == shown)

    def _wrong(self, told: str) -> None:
        self.walk.wrong.append(told)
        if len(self.walk.wrong) > 20:
            self.walk.ended = HELP


@dataclass(frozen=True)
class Compared:
    """A chart against the advice on the same gears, means of minutes; ``pages`` of its PDF, chances of other ends.

    ``error`` is the standard error of the ratio (of a ratio of means, by its linear part: Cochran, "Sampling
    Techniques", 1977, section 6.4, from memory).
    """

    family: str
    symptom: str
    steps: int
    pages: int
    chart: float
    advice: float
    error: float
    foretold: float
    help: float
    help_advice: float
    hidden: float
    hidden_advice: float
    stopped: float
    wrong: tuple[str, ...]

    @property
    def ratio(self) -> float:
        """Minutes by the chart over minutes by the advice."""
        return self.chart / self.advice


class SameGear(Gear):
    """A gear on which the first, second … time that a check is done shows the same, whatever else was done.

    So the chart and the advice meet the same luck; each alone meets what any gear would show.
    """

    def __init__(self, book: Book, symptom: str, drawn: Sequence[Modes], seed: Sequence[int]) -> None:
        super().__init__(book, symptom, drawn, np.random.default_rng(seed))
        self._seed, self._times = seed, Counter[str]()

    def show(self, check: str) -> str:
        """What it shows this time."""
        self._begin(check)
        return super().show(check)

    def repair(self, action: str) -> None:
        """Whether it does what it should this time."""
        self._begin(action)
        super().repair(action)

    def _begin(self, name: str) -> None:
        self._times[name] += 1
        self._rng = np.random.default_rng([*self._seed, crc32(name.encode()), self._times[name]])


def gears(
    book: Book, symptom: str, drawn: Mapping[str, Sequence[Modes]], seed: int, jobs: int
) -> Iterator[tuple[Gear, Gear]]:
    """Each gear twice: once for the chart, once for the advice."""
    for number in range(jobs):
        ours, theirs = (SameGear(book, symptom, drawn[symptom], [seed, number]) for _ in range(2))
        yield ours, theirs


def compare(
    family: str, symptom: str, seed: int, jobs: int, limits: Limits | None = None, count: int = POOL
) -> Compared:
    """Compiles a chart, follows it on gears, and works the same gears by the advice."""
    book = shipped_book(family)
    chart = fitting(book, symptom, PAGES, limits)
    follower, player = Follower(book, chart), Player(book, sets=2)
    harmless = {q.id: next(a for a in q.answers if not a.first).id for q in book.opening}
    walks, played = [], []
    for number, (ours, theirs) in enumerate(gears(book, symptom, draw_pools(book, seed, [symptom], count), seed, jobs)):
        walks.append(follower.follow(ours))
        played.append(player.play(Job(number, symptom, theirs, None, frozenset(), harmless)))
    return Compared(
        family, symptom, len(chart["steps"]), page_count(chart), _mean(w.minutes for w in walks),
        _mean(p.minutes for p in played), _error([w.minutes for w in walks], [p.minutes for p in played]),
        chart["minutes"]["chart"], _mean(w.ended == HELP for w in walks), _mean(p.ended == HELP for p in played),
        _mean(w.hidden for w in walks), _mean(p.hidden for p in played), _mean(w.stopped for w in walks),
        tuple(dict.fromkeys(told for w in walks for told in w.wrong)),
    )  # fmt: skip


def _error(ours: Sequence[float], theirs: Sequence[float]) -> float:
    """Standard error of the ratio of the means of paired minutes."""
    a, b = np.array(ours), np.array(theirs)
    left = a - a.mean() / b.mean() * b
    return float(left.std(ddof=1) / np.sqrt(len(a)) / b.mean()) if len(a) > 1 else float("inf")


def _mean(values: Iterable[float]) -> float:
    listed = [float(value) for value in values]
    return sum(listed) / len(listed) if listed else 0.0


def main(words: Sequence[str] | None = None) -> int:
    """Compares the charts of all symptoms; 1 where one is wrong, too long or too dear."""
    parser = argparse.ArgumentParser(description="Follows go-to charts on simulated jobs.")
    parser.add_argument("--jobs", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2))
    parser.add_argument("--pool", type=int, default=POOL, help="gears drawn for the jobs of a symptom to share")
    parser.add_argument("--family", action="append", default=[])
    parser.add_argument("--symptom", action="append", default=[])
    asked = parser.parse_args(words)
    bad, found = 0, list[Compared]()
    with ProcessPoolExecutor(asked.processes) as workers:
        for family in asked.family or families([ROOT / "knowledge"]):
            wanted = asked.symptom or list(shipped_book(family).symptoms)
            compared = partial(compare, family, seed=asked.seed, jobs=asked.jobs, count=asked.pool)
            for one in workers.map(compared, wanted):
                found.append(one)
                bad += bool(one.wrong) or one.pages > PAGES or one.ratio > MOST
                print(
                    f"{family} {one.symptom}: {one.steps} steps, {one.pages} pages, {one.chart:.0f} min (told "
                    f"{one.foretold:.0f}) against {one.advice:.0f}: {one.ratio:.2f} +- {one.error:.2f}; "
                    f"help {one.help:.0%} against {one.help_advice:.0%}, "
                    f"come back {one.hidden:.0%} against {one.hidden_advice:.0%}, stopped {one.stopped:.0%}",
                    flush=True,
                )  # fmt: skip
                for told in one.wrong[:5]:
                    print(f"  {told}", flush=True)
            ours = [one for one in found if one.family == family]
            ratio = sum(one.chart for one in ours) / sum(one.advice for one in ours)
            print(f"{family}: {ratio:.3f} of the advice's minutes, worst {max(one.ratio for one in ours):.2f}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
