"""Plays simulated jobs with the advisor to the end, holds every advice against the rules, and counts minutes.

    python tests/jobs/run.py --jobs 10000 --seed 1 --processes 2

Whoever works a job does what stands first among the suggestions. The log is that of a case, and belief and situation
are what the case makes of it, so that the case is tried too. Progress goes to stderr.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from copy import copy
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the program itself does it

import numpy as np

from faulttree.advice import Advisor, Budget, Situation, Suggestion, ToGo
from faulttree.belief import Answer, Believer, Evidence
from faulttree.book import read_book
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up, keeps_open
from tests.jobs.followed import CHARTS, PICKS, Pick, advice, chart_of
from tests.jobs.gear import POOL, Job, Modes, draw_job, pool
from tests.jobs.rules import breaches
from tests.jobs.scene import Facts

ROOT = Path(__file__).resolve().parents[2]
MOST_STEPS = 150
FAMILY = "electromechanical"
EPSILON = 1e-6


@dataclass(frozen=True)
class Played:
    """How a job went. ``minutes`` on the clock, help's included, ``waits`` in hours; ``ended`` proof, help or neither.

    ``hidden``: a proof passed while a cause still stood. ``fetched``: a follow-up was due that those at hand could not
    do, and was done all the same. ``foretold`` are the minutes to go as they were told at the outset.
    """

    number: int
    symptom: str
    minutes: float
    waits: float
    steps: tuple[str, ...]
    actions: int
    ended: str
    hidden: bool
    fetched: bool
    breaches: tuple[str, ...]
    foretold: ToGo | None = None


@dataclass(frozen=True)
class Seen:
    """What one advice comes to: the step that is done, what it does against the rules, the minutes foretold."""

    step: Suggestion | None
    breaches: tuple[str, ...]
    to_go: ToGo | None = None


class Log:
    """The case of one job as it is worked."""

    def __init__(self, book: Book, job: Job) -> None:
        self.book, self.job = book, job
        self.entries: list[CaseEntry] = []
        self.minutes, self.waits = 0.0, 0.0
        self.add("symptom", symptom=job.symptom, present=True)
        for question, answer in job.opening.items():
            self.add("opening", question=question, answer=answer)

    def fork(self) -> Log:
        """A twin that goes on by itself."""
        twin = copy(self)
        twin.entries = list(self.entries)
        return twin

    def add(self, kind: str, **data: Any) -> None:
        """One more entry."""
        self.entries.append(CaseEntry(len(self.entries) + 1, "", "mechanic", kind, data))
        self.state: CaseState = add_up(self.book, self.entries)

    def situation(self) -> Situation:
        """Where the job stands, by the case and what is at hand."""
        ever = frozenset(entry.check for entry in self.state.evidence if isinstance(entry, Answer))
        return replace(self.state.situation(self.book), people=self.job.people, lacking=self.job.lacking, ever=ever)

    def move(self, off: Iterable[str], on: Iterable[str]) -> None:
        """Restores and sets up conditions one by one."""
        for name in off:
            self.add("restored", condition=name)
            self.minutes += self.book.conditions[name].restore_minutes
        for name in on:
            self.add("set-up", condition=name)
            self.minutes += self.book.conditions[name].set_up_minutes
            self.waits += self.book.conditions[name].waits

    def proved(self) -> bool:
        """Whether every proof was passed after the last action, and nothing more is due."""
        return self.state.proved(self.book) and not self.state.owed(self.book)


class Player:
    """Plays the jobs of one book with one advisor. Advice that was seen before is not worked out again.

    ``states``: how many states each refined choice may play; 0 for the quick choice. ``sets``: how many faults are
    taken to be there at once; advice plays on the heaviest 99 %, in which more than two hardly ever appear. ``pick``:
    how a step is taken out of the advice.
    """

    def __init__(self, book: Book, states: int = 0, sets: int = 3, pick: Pick = advice) -> None:
        self.book, self.states, self.pick = book, states, pick
        self.advisor, self.believer, self.facts = Advisor(book), Believer(book, sets), Facts(book)
        self._seen: dict[tuple[Evidence, Situation], Seen] = {}

    def see(self, evidence: Evidence, situation: Situation) -> Seen:
        """The first suggestion, and the breaches of the whole advice."""
        key = (evidence, situation)
        if key not in self._seen:
            belief = self.believer.believe(evidence)
            if self.states:
                found = self.advisor.refine(belief, situation, Budget(self.states), ahead=not situation.ever)
            else:
                # The minutes to go are looked at before the first step alone, and take as long as all the rest.
                found = self.advisor.advise(belief, situation, ahead=not situation.ever)
            told = breaches(self.facts, evidence, situation, found, belief)
            step = self.pick(found.suggestions) if found.suggestions else None
            self._seen[key] = Seen(step, tuple(told), found.to_go)
        return self._seen[key]

    def play(self, job: Job) -> Played:
        """Plays one job to its end."""
        log, steps, told = Log(self.book, job), list[str](), list[str]()
        ended, fetched, foretold = "", False, None
        while not ended:
            situation = log.situation()
            seen = self.see(log.state.beliefs(), situation)
            told += seen.breaches
            foretold = foretold or seen.to_go
            if seen.step is None or len(steps) >= MOST_STEPS:
                told.append("does not end" if seen.step else "nothing is suggested")
                ended = "neither"
            elif seen.step.kind == "help":
                log.minutes += seen.step.minutes_now
                ended = "help"
            else:
                steps.append(seen.step.id)
                fetched = fetched or not _at_hand(seen.step, situation)
                self._do(log, seen.step, situation)
                ended = "proof" if log.proved() else ""
        hidden = ended == "proof" and job.gear.faulty
        if ended == "proof":
            told += self._close(log)
        return Played(
            job.number, job.symptom, log.minutes, log.waits, tuple(steps), len(log.state.actions), ended, hidden,
            fetched, tuple(dict.fromkeys(told)), foretold,
        )  # fmt: skip

    def _do(self, log: Log, step: Suggestion, situation: Situation) -> None:
        """Moves to what the step needs, then does it."""
        self.prepare(log, step, situation)
        if step.kind == "act":
            log.job.gear.repair(step.id)
            log.add("did", action=step.id)
        else:
            log.add("answer", check=step.id, outcome=log.job.gear.show(step.id), sure=True)

    def prepare(self, log: Log, step: Suggestion, situation: Situation) -> None:
        """Moves to what the step needs by the program's own moves, and counts the minutes of that and of the step."""
        item = self.book.actions[step.id] if step.kind == "act" else self.book.checks[step.id]
        first = () if step.kind == "ask" else situation.first
        move = self.advisor.moves.move(situation.standing, (*item.needs, *first, *step.also))
        log.move(move.off, move.on)
        log.minutes += item.minutes
        log.waits += item.waits

    def _close(self, log: Log) -> list[str]:
        """Puts everything back and names a cause. What then keeps the case open is a breach; so is nothing before."""
        if log.state.standing and not keeps_open(self.book, log.state):
            return ["the case would close while something stands"]
        log.move(self.advisor.moves.restore_all(log.state.standing).off, ())
        log.add("cause", fault=self.book.actions[log.state.actions[-1]].corrects[0])
        return [f"the case stays open: {reason}" for reason in keeps_open(self.book, log.state)]


def _at_hand(step: Suggestion, situation: Situation) -> bool:
    few = situation.people is not None and step.people > situation.people
    return not few and situation.lacking.isdisjoint(step.equipment)


@dataclass
class Summary:
    """Jobs played, added up."""

    played: list[Played] = field(default_factory=list)

    def lines(self) -> list[str]:
        """What is printed."""
        jobs = len(self.played)
        bad = [(p, told) for p in self.played for told in p.breaches]
        by_rule = Counter(told.split(":")[0] for _, told in bad)
        found = [f"jobs {jobs}, breaches {len(bad)} in {len({p.number for p, _ in bad})} jobs"]
        found += [f"  {count} x {rule}" for rule, count in by_rule.most_common()]
        found += [f"  job {p.number} ({p.symptom}): {told}" for p, told in bad[:10]]
        found.append(f"ended by help {self.count('help')}, by proof {self.count('proof')}")
        found.append(f"mean minutes {self.mean([p.minutes for p in self.played]):.1f}")
        found.append(f"mean hours of waiting {self.mean([p.waits for p in self.played]):.2f}")
        found += self._foretold()
        comebacks = sum(p.hidden for p in self.played) / max(jobs, 1)
        found.append(f"squawks that would come back {comebacks:.1%}")
        found.append(f"mean steps {self.mean([len(p.steps) for p in self.played]):.2f}")
        found.append(f"proof passed with a cause still standing {sum(p.hidden for p in self.played)}")
        found.append(f"follow-up due with too few people or equipment {sum(p.fetched for p in self.played)}")
        return found

    def _foretold(self) -> list[str]:
        """How the minutes to go that were told at the outset bore out."""
        told = [(p.minutes, p.foretold) for p in self.played if p.foretold is not None]
        if not told:
            return []
        mean = self.mean([to_go.mean for _, to_go in told])
        half, most = (
            self.mean([float(minutes <= bound + EPSILON) for minutes, bound in pairs])
            for pairs in ([(m, t.p50) for m, t in told], [(m, t.p80) for m, t in told])
        )
        return [f"minutes foretold {mean:.1f}; within the median {half:.1%}, within the 80 % {most:.1%}"]

    def count(self, ended: str) -> int:
        """Jobs that ended this way."""
        return sum(p.ended == ended for p in self.played)

    def mean(self, values: Sequence[float]) -> float:
        """The mean; 0 for nothing."""
        return sum(values) / len(values) if values else 0.0


def shipped_book(family: str = FAMILY) -> Book:
    """The book of a family as it lies in the checkout."""
    reading = read_book([ROOT / "knowledge"], family)
    assert reading.book is not None, reading.problems
    return reading.book


def draw_pools(
    book: Book, seed: int, symptoms: Iterable[str] | None = None, count: int = POOL
) -> dict[str, list[Modes]]:
    """Gears to draw jobs from, for each symptom; the same for a seed whichever symptoms are asked for."""
    wanted = set(book.symptoms if symptoms is None else symptoms)
    places = [(place, name) for place, name in enumerate(book.symptoms) if name in wanted]
    return {name: pool(book, name, np.random.default_rng([seed, place, 0]), count) for place, name in places}


def play_symptom(
    family: str,
    seed: int,
    symptom: str,
    jobs: int,
    states: int,
    sets: int = 3,
    policy: str = "advice",
) -> list[Played]:
    """All jobs of one symptom: they share most of their advice."""
    book = shipped_book(family)
    if list(book.symptoms).index(symptom) >= jobs:
        return []
    player, gears = Player(book, states, sets), draw_pools(book, seed, [symptom])
    player.pick = PICKS[policy] if policy in PICKS else _chart(player, symptom, policy)
    played, start = [], time.perf_counter()
    for number in range(list(book.symptoms).index(symptom), jobs, len(book.symptoms)):
        played.append(player.play(draw_job(book, gears, seed, number)))
        if len(played) % 25 == 0:
            seconds = time.perf_counter() - start
            bad = sum(bool(p.breaches) for p in played)
            print(f"{symptom}: {len(played)} jobs, {bad} with breaches, {seconds:.0f} s", file=sys.stderr, flush=True)
    return played


def _chart(player: Player, symptom: str, rule: str) -> Pick:
    """The printed chart of a symptom, ordered by a rule."""
    state = add_up(player.book, [CaseEntry(1, "", "mechanic", "symptom", {"symptom": symptom, "present": True})])
    advice = player.advisor.advise(player.believer.believe(state.beliefs()), state.situation(player.book), ahead=False)
    return chart_of(advice.suggestions, CHARTS[rule])


def main(words: Sequence[str] | None = None) -> int:
    """Plays jobs and prints what came of them. Returns 1 where a rule was broken."""
    parser = argparse.ArgumentParser(description="Plays simulated jobs and holds the advice against the rules.")
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1, choices=(1, 2))
    parser.add_argument("--family", default=FAMILY)
    parser.add_argument("--states", type=int, default=0, help="follow the refined choice, so many states for each")
    parser.add_argument("--sets", type=int, default=2, choices=(1, 2, 3), help="faults taken to be there at once")
    parser.add_argument("--policy", default="advice", choices=[*PICKS, *CHARTS], help="whose step is followed")
    asked = parser.parse_args(words)
    start = time.perf_counter()
    summary = Summary()
    with ProcessPoolExecutor(asked.processes) as workers:
        running = [
            workers.submit(
                play_symptom, asked.family, asked.seed, symptom, asked.jobs, asked.states, asked.sets, asked.policy
            )
            for symptom in shipped_book(asked.family).symptoms
        ]
        for one in running:
            summary.played += one.result()
    print("\n".join([*summary.lines(), f"seconds {time.perf_counter() - start:.0f}"]))
    return 1 if any(p.breaches for p in summary.played) else 0


if __name__ == "__main__":
    sys.exit(main())
