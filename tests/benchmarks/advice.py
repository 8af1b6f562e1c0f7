"""What following the advice costs, against the exact optimum and against what a mechanic would follow otherwise.

    python tests/benchmarks/advice.py                     all rows, about three quarters of an hour on two cores
    python tests/benchmarks/advice.py --only perfect --jobs 40

Jobs are drawn at random (tests/jobs/generate.py); minutes are expectations worked out over every outcome, not
sampled. Ratios are minutes divided by the optimum's in the same run, mean / worst over the jobs. Where the optimum is
known only within a quarter of a minute (readings that err) the lower bound stands for it, so that ratios are too high
rather than too low. The goals were found on other jobs of the same recipe.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

import numpy as np

from faulttree.advice import Advice, Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.advice.choice import Rule
from faulttree.belief import Belief
from tests.jobs import exact, generate, policies
from tests.jobs.bridge import Weighted, advised, as_book, asked_for, first_step, quick, refined, where
from tests.jobs.evaluate import expected
from tests.jobs.fixed_order import best_fixed_order
from tests.jobs.followed import CHARTS, PICKS
from tests.jobs.model import Hypothesis, Job, Policy, Result, State, begin, carry_out
from tests.jobs.run import play_symptom, shipped_book

GAP = 0.25
CUT = {True: 1e-7, False: 1e-5}
"""Improbable branches whose cost is not worked out: by whether readings are perfect."""

STATES = 600
"""For the refined choice on the shipped book: what takes a tenth of a second or two."""

OTHERS: dict[str, Callable[[Job], Policy]] = {
    "printed table, likeliest first": policies.printed_table,
    "checklist": policies.checklist,
    "cheapest check first": policies.cheapest_first,
    "likeliest cause first": policies.likeliest_first,
    "information per minute": policies.information_per_minute,
    "best fixed order": best_fixed_order,
}


@dataclass(frozen=True)
class Row:
    """A kind of job: how many at most, and how they are drawn. ``wrong``: rates told wrong by a factor of two."""

    name: str
    jobs: int
    perfect: bool
    setups: float = 1.0
    on_wheels: bool = False
    sleeping: bool = False
    not_while: bool = False
    wrong: bool = False
    others: bool = True

    def draw(self, seed: int) -> Job:
        """The job with this number."""
        rng = random.Random(7 * seed + 1)
        faults, checks, conditions = rng.randint(8, 12), rng.randint(8, 14), rng.randint(3, 5)
        if not self.perfect or self.sleeping or self.not_while:
            faults, checks, conditions = 6, 7, 3
        return generate.job(
            seed, faults=faults, checks=checks, conditions=conditions, perfect=self.perfect, setups=self.setups,
            on_wheels=self.on_wheels, sleeping=self.sleeping, not_while=self.not_while,
        )  # fmt: skip


ROWS = {
    "perfect": Row("perfect checks", 300, True),
    "imperfect": Row("imperfect checks", 40, False),
    "setups-0": Row("set-ups x 0", 40, True, setups=0.0, others=False),
    "setups-2": Row("set-ups x 2", 40, True, setups=2.0, others=False),
    "setups-4": Row("set-ups x 4", 40, True, setups=4.0, others=False),
    "wheels": Row("proof on wheels", 40, True, on_wheels=True, others=False),
    "wrong": Row("rates off by x 2", 60, True, wrong=True),
    "sleeping": Row("faults that come and go", 20, True, sleeping=True, others=False),
    "not-while": Row("conditions that bar others", 20, True, not_while=True, others=False),
}


def with_wrong_rates(job: Job, seed: int) -> Job:
    """The job as somebody takes it to be whose rates are each too high or too low by a factor of two."""
    rng = random.Random(seed)
    factor = {f: rng.choice((0.5, 2.0)) for f in range(len(job.faults))}
    raw = [h.weight * float(np.prod([factor[f] for f, _ in h.faults])) for h in job.hypotheses]
    share = (1.0 - job.unlisted) / sum(raw)
    told = tuple(Hypothesis(h.faults, w * share) for h, w in zip(job.hypotheses, raw, strict=True))
    return replace(job, hypotheses=told)


def measure(name: str, seed: int) -> dict[str, float]:
    """Expected minutes of the optimum and of every policy on one job."""
    row = ROWS[name]
    job = row.draw(seed)
    told = with_wrong_rates(job, seed) if row.wrong else job
    best = exact.solve(job, GAP if not job.perfect else exact.ROUNDING)
    cut = CUT[job.perfect]
    found = {"optimum": best.low}
    for word, ask in (("quick choice", quick), ("refined choice", refined)):
        found[word] = expected(job, advised(job, ask, told), cut)
    if row.others:
        for word, policy in OTHERS.items():
            found[word] = expected(job, policy(told), cut)
    return found


def table(name: str, results: Sequence[dict[str, float]]) -> Iterator[str]:
    """Ratios of every policy, and what the refined choice saves against the others."""
    yield f"{ROWS[name].name}, {len(results)} jobs, optimum {statistics.mean(r['optimum'] for r in results):.1f} min"
    for word in [word for word in results[0] if word != "optimum"]:
        ratios = [r[word] / r["optimum"] for r in results]
        line = f"    {word:32} {statistics.mean(ratios):.4f} / {max(ratios):.3f}"
        if word in OTHERS:
            saved = [1.0 - r["refined choice"] / r[word] for r in results]
            line += f"    refined saves {statistics.mean(saved):.1%}"
            avoidable = sum(r[word] - r["optimum"] for r in results)
            if avoidable > 0:
                line += f", {sum(r[word] - r['refined choice'] for r in results) / avoidable:.0%} of the avoidable"
        yield line


def on_the_shipped_book(jobs: int, workers: ProcessPoolExecutor) -> Iterator[str]:
    """Mean minutes of simulated jobs of every symptom, the same gears for every policy.

    A squawk that comes back counts as what it costs.
    """
    book = shipped_book()
    policies_tried = [("refined advice", STATES, "advice"), ("quick advice", 0, "advice")]
    policies_tried += [(f"{name} first", 0, name) for name in PICKS if name != "advice"]
    policies_tried += [(name, 0, name) for name in CHARTS]
    yield f"shipped book, {jobs} simulated jobs, mean minutes, comebacks included; ratio to the refined advice"
    running = {
        (word, symptom): workers.submit(play_symptom, book.family, 7, symptom, jobs, states, 2, policy)
        for word, states, policy in policies_tried
        for symptom in book.symptoms
    }
    comeback = book.defaults.comeback
    for symptom in (*book.symptoms, "all"):
        yield f"    {symptom}"
        base = 0.0
        for word, _, _ in policies_tried:
            played = [p for s in book.symptoms if symptom in (s, "all") for p in running[word, s].result()]
            minutes = statistics.mean(p.minutes + comeback * p.hidden for p in played)
            base = base or minutes
            helped = sum(p.ended == "help" for p in played) / len(played)
            yield f"        {word:28} {minutes:7.1f}  {minutes / base:.3f}   help {helped:.0%}"


def speed(jobs: int) -> Iterator[str]:
    """Milliseconds per decision on jobs with 80 faults and 60 checks that err, along one job played to its end each."""
    times: dict[str, list[float]] = {}
    for seed in range(jobs):
        job = generate.job(seed, faults=80, checks=60, conditions=5, perfect=False)
        advisor, believer, rng = asked_for(job), Weighted(as_book(job), job), random.Random(seed)
        state: State | None = begin(job)
        while state is not None:
            evidence, situation = where(advisor.book, state)
            advice = _timed(times, advisor, believer.believe(evidence), situation)
            state = _drawn(carry_out(job, state, first_step(advice)), rng.random())
    decisions = len(next(iter(times.values())))
    yield f"80 faults, 60 checks, {decisions} decisions, milliseconds mean / 95 %"
    for word, taken in times.items():
        yield f"    {word:32} {statistics.mean(taken):.2f} / {np.percentile(taken, 95):.2f}"


def _timed(times: dict[str, list[float]], advisor: Advisor, belief: Belief, situation: Situation) -> Advice:
    """The refined advice; beside it how long the rule, the quick and the refined advice took."""
    job_and_state = Round(advisor, belief, situation)
    start = time.perf_counter()
    Rule(job_and_state.job).choose(job_and_state.state)
    ruled = time.perf_counter()
    advisor.advise(belief, situation, ahead=False)
    told = time.perf_counter()
    advice = advisor.refine(belief, situation, ahead=False)
    ends = (ruled - start, told - ruled, time.perf_counter() - told)
    words = ("quick choice", "quick advice, job compiled", "refined advice, job compiled")
    for word, seconds in zip(words, ends, strict=True):
        times.setdefault(word, []).append(1e3 * seconds)
    return advice


def _drawn(result: Result, ball: float) -> State | None:
    """The state that a step leads to if this is drawn, None where the job ends."""
    for chance, state in result.goes_on:
        if ball < chance:
            return state
        ball -= chance
    return None


def main(words: Sequence[str] | None = None) -> int:
    """Measures the rows asked for and prints them one by one."""
    parser = argparse.ArgumentParser(description="Expected minutes of following the advice.")
    parser.add_argument("--only", action="append", choices=[*ROWS, "shipped", "speed"])
    parser.add_argument("--jobs", type=int, help="at most so many jobs in a row")
    parser.add_argument("--first", type=int, default=1000, help="the number of the first job")
    asked = parser.parse_args(words)
    with ProcessPoolExecutor(2) as workers:
        for name in [row for row in ROWS if not asked.only or row in asked.only]:
            start, count = time.perf_counter(), min(ROWS[name].jobs, asked.jobs or sys.maxsize)
            seeds = range(asked.first, asked.first + count)
            results = list(workers.map(measure, [name] * count, seeds))
            print("\n".join(table(name, results)), f"    ({time.perf_counter() - start:.0f} s)", sep="\n", flush=True)
        if not asked.only or "shipped" in asked.only:
            print("\n".join(on_the_shipped_book(min(500, asked.jobs or 500), workers)), flush=True)
    if not asked.only or "speed" in asked.only:
        print("\n".join(speed(6)), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
