"""Small jobs as plain data and their exact optimum: held against enumeration, simulation and published results.

These jobs are the outside check of the program's advice, so they must be right on their own.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from tests.jobs import generate, policies
from tests.jobs.enumerate import least_cost
from tests.jobs.evaluate import expected
from tests.jobs.exact import solve
from tests.jobs.fixed_order import Chart, best_fixed_order
from tests.jobs.model import (
    BAD,
    FINE,
    HELP,
    Check,
    Condition,
    Event,
    Fault,
    Hypothesis,
    Job,
    Policy,
    Proof,
    State,
    Step,
    begin,
    can_stand,
    carry_out,
    move,
    needs_of,
    restore_all,
)

TINY: dict[str, dict[str, Any]] = {
    "perfect": {"faults": 3, "checks": 3, "perfect": True},
    "imperfect": {"faults": 3, "checks": 3, "perfect": False},
    "perfect, sleeping": {"faults": 3, "checks": 2, "perfect": True, "sleeping": True},
    "imperfect, sleeping": {"faults": 2, "checks": 2, "perfect": False, "sleeping": True},
    "perfect, not_while": {"faults": 3, "checks": 2, "perfect": True, "not_while": True},
    "imperfect, not_while": {"faults": 2, "checks": 2, "perfect": False, "not_while": True},
}
"""Kinds of tiny jobs. A perfect one with an odd seed has pairs of faults."""

POLICIES: dict[str, Callable[[Job], Policy]] = {
    "printed table": policies.printed_table,
    "checklist": policies.checklist,
    "cheapest first": policies.cheapest_first,
    "likeliest first": policies.likeliest_first,
    "information per minute": policies.information_per_minute,
    "best fixed order": best_fixed_order,
}


def tiny(kind: str, seed: int) -> Job:
    return generate.job(seed, conditions=3, **TINY[kind])


def poor_proof(job: Job) -> Job:
    """The same job with a proof that can miss what stands, at a price below that of help."""
    return replace(job, proof=replace(job.proof, detects=0.8), comeback=0.4 * job.help)


def single_faults(*weights: float) -> tuple[Hypothesis, ...]:
    return tuple(Hypothesis(frozenset({(f, False)}), weight) for f, weight in enumerate(weights))


# ------------------------------------------------------------------------------------------------- the optimum


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
@pytest.mark.parametrize("kind", TINY)
def test_optimum_is_that_of_enumeration(kind: str, seed: int) -> None:
    """The least cost is the one found by going through every step and every outcome."""
    job = tiny(kind, seed)
    assert solve(job).value == pytest.approx(least_cost(job, remember=True), abs=1e-9)


@pytest.mark.parametrize("kind", ["perfect", "imperfect", "perfect, sleeping", "imperfect, not_while"])
def test_optimum_with_a_poor_proof_is_that_of_enumeration(kind: str) -> None:
    """The bound stays below the cost where a proof may pass too early and that costs less than help."""
    job = poor_proof(tiny(kind, 1))
    assert solve(job).value == pytest.approx(least_cost(job, remember=True), abs=1e-9)


@pytest.mark.parametrize("perfect", [True, False])
def test_enumeration_needs_no_memory(perfect: bool) -> None:
    """Remembering states changes nothing in what the enumeration finds."""
    job = generate.job(1, faults=2, checks=2, conditions=3, perfect=perfect)
    assert least_cost(job) == pytest.approx(least_cost(job, remember=True), abs=1e-9)


@pytest.mark.parametrize("kind", TINY)
def test_best_policy_costs_the_optimum(kind: str) -> None:
    """Following the steps of the solution costs what it says, evaluated by other code."""
    job = tiny(kind, 5)
    solution = solve(job)
    assert expected(job, solution.policy, cut=0.0) == pytest.approx(solution.value, abs=1e-9)


def test_best_policy_of_a_larger_job_costs_the_optimum() -> None:
    """On a job too large to enumerate the policy still costs what the solution says."""
    job = generate.job(1, faults=9, checks=10, conditions=4, perfect=True)
    solution = solve(job)
    assert expected(job, solution.policy, cut=0.0) == pytest.approx(solution.value, abs=1e-6)


def test_a_gap_is_kept() -> None:
    """With a gap asked for, the bounds enclose the optimum and are no further apart than that."""
    job = generate.job(2, faults=4, checks=4, conditions=3, perfect=False)
    rough, fine = solve(job, gap=5.0), solve(job)
    assert rough.low - 1e-9 <= fine.value <= rough.value + 1e-9
    assert rough.value - rough.low <= 5.0


def test_huffman() -> None:
    """With every yes/no split at hand for one minute, as many are needed as bits in an optimal prefix code.

    Weights and the cost of 2.24 bits: Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 3rd edition,
    section 16.3, figure 16.3 (frequencies a 45, b 13, c 12, d 16, e 9, f 5), from memory.
    """
    splits = [frozenset((0, *rest)) for size in range(5) for rest in combinations(range(1, 6), size)]
    job = Job(
        conditions=(),
        faults=(Fault(1000.0),) * 6,
        checks=tuple(Check(1.0, split) for split in splits),
        hypotheses=single_faults(0.45, 0.13, 0.12, 0.16, 0.09, 0.05),
        unlisted=0.0,
        proof=Proof(0.0),
        help=1e5,
        comeback=1e5,
    )
    assert solve(job).value - 1000.0 == pytest.approx(2.24, abs=1e-9)


# ------------------------------------------------------------------------------------------------- conditions

JACKS, FLOOR = 0, 1


def floor_and_jacks() -> Job:
    """A first check on jacks convicts one cause (0.3); the second, for the other two, needs the floor out as well.

    The floor comes out and goes in only while not on jacks.
    """
    return Job(
        conditions=(Condition("jacks", 40.0, 30.0), Condition("floor", 35.0, 40.0, not_while=(JACKS,))),
        faults=(Fault(1000.0),) * 3,
        checks=(
            Check(0.0, frozenset({0}), needs=(JACKS,)),
            Check(0.0, frozenset({1}), needs=(JACKS, FLOOR), after=(0,)),
        ),
        hypotheses=single_faults(0.3, 0.35, 0.35),
        unlisted=0.0,
        proof=Proof(0.0),
        help=1e5,
        comeback=1e5,
    )


def test_floor_out_before_the_jacks_go_in() -> None:
    """Setting up the barred condition first is found: 35 + 40 in, 30 + 40 out make 145 minutes."""
    solution = solve(floor_and_jacks())
    assert solution.first == ("check", 0, FLOOR)
    assert solution.value - 1000.0 == pytest.approx(145.0, abs=1e-9)


def test_lazily_the_aircraft_is_jacked_twice() -> None:
    """Setting up only what is needed costs 40 + 0.3 × 30 + 0.7 × (30 + 35 + 40 + 30 + 40) = 171.5 minutes."""

    def lazily(state: State) -> Step:
        if not state.history:
            return ("check", 0)
        if 1 not in state.done and state.weights[0] == 0.0:
            return ("check", 1)
        return ("repair", max(range(3), key=lambda f: state.weights[f]))

    assert expected(floor_and_jacks(), lazily) - 1000.0 == pytest.approx(171.5, abs=1e-9)


def test_moves_by_hand() -> None:
    """What bars or excludes comes off, with what implies it; the rest stays."""
    conditions = (
        Condition("master", 2.0, 1.0),
        Condition("jacks", 40.0, 30.0),
        Condition("floor", 35.0, 40.0, not_while=(1,)),
        Condition("swing", 4.0, 8.0, implies=(0, 1)),
        Condition("flight", 20.0, 5.0, excludes=(1, 2)),
    )
    job = replace(floor_and_jacks(), conditions=conditions)
    assert move(job, frozenset(), [3]) == (2.0 + 40.0 + 4.0, frozenset({0, 1, 3}))
    assert move(job, frozenset({0, 1, 3}), [2]) == (8.0 + 30.0 + 35.0, frozenset({0, 2}))
    assert move(job, frozenset({0, 1, 2, 3}), [4]) == (30.0 + 40.0 + 8.0 + 20.0, frozenset({0, 4}))
    assert not can_stand(job, [3, 4])


# ------------------------------------------------------------------------------------------------- policies


@pytest.mark.parametrize("name", POLICIES)
def test_no_policy_beats_the_optimum(name: str) -> None:
    """Every printed chart and rule of thumb costs at least the optimum on jobs of every kind."""
    jobs = [tiny(kind, seed) for kind in TINY for seed in (6, 7)]
    jobs.append(generate.job(1, faults=8, checks=8, conditions=4, perfect=True))
    for job in jobs:
        assert expected(job, POLICIES[name](job)) >= solve(job).value - 1e-6


def test_best_fixed_order_is_better_than_fixed_orders() -> None:
    """The local search ends at least as low as each of the orders it begins from."""
    job = generate.job(4, faults=8, checks=8, conditions=3, perfect=True)
    chart = Chart(job, skips=False)
    best = expected(job, best_fixed_order(job))
    assert all(best <= chart.cost(start) + 1e-9 for start in chart.starts())


def test_chart_prices_are_those_of_the_evaluation() -> None:
    """The quick pricing of orders agrees with evaluating the chart as a policy."""
    for job in (tiny("imperfect", 3), generate.job(3, faults=8, checks=8, conditions=3, perfect=True)):
        chart = Chart(job, skips=False)
        for order in chart.starts():
            assert chart.cost(order) == pytest.approx(expected(job, chart.policy(order), cut=0.0), abs=1e-6)


@pytest.mark.parametrize("step", [("check", 0), ("check", 1), ("repair", 0), ("check", 2, 0)])
def test_steps_that_are_not_allowed_are_refused(step: Step) -> None:
    """Again before a repair, before its prerequisite, a repair twice, or a further condition without cause."""
    checks = (Check(1.0, frozenset({0})), Check(1.0, frozenset({1}), after=(2,)), Check(1.0, frozenset({1})))
    job = replace(floor_and_jacks(), conditions=(Condition("jacks", 1.0, 1.0),), checks=checks)
    state = replace(begin(job), done=frozenset({0}), ever_done=frozenset({0}), repaired=(0,))
    with pytest.raises(ValueError, match=r"check|fault|further"):
        carry_out(job, state, step)


# ------------------------------------------------------------------------------------------------- simulation


class Bench:
    """One job played with a hidden cause; shares with the model only its moves."""

    def __init__(self, job: Job, rng: random.Random) -> None:
        self.job, self.rng = job, rng
        self.listed = [h.weight for h in job.hypotheses]

    def play(self, ask: Callable[[tuple[Event, ...]], Step]) -> float:
        """Minutes of one job; ``ask`` gives the step after what happened so far."""
        job = self.job
        cause = None if self.rng.random() < job.unlisted else dict(self._any_listed())
        standing: frozenset[int] = frozenset()
        minutes, history = 0.0, ()
        while True:
            step = ask(history)
            if step == HELP:
                return minutes + job.help
            assert len(step) == 2
            more, standing = move(job, standing, needs_of(job, step))
            minutes += more
            if step[0] == "check":
                minutes += job.checks[step[1]].minutes
                history = (*history, ("check", step[1], self._read(job.checks[step[1]], cause)))
                continue
            more, standing = move(job, standing, job.proof.needs)
            minutes += more + job.faults[step[1]].repair + job.proof.minutes
            if cause is not None:
                cause.pop(step[1], None)
            if not self._proof_fails(cause):
                return minutes + restore_all(job, standing) + (0.0 if cause == {} else job.comeback)
            history = (*history, ("repair", step[1]))

    def _any_listed(self) -> frozenset[tuple[int, bool]]:
        return self.rng.choices(self.job.hypotheses, self.listed)[0].faults

    def _awake(self, cause: dict[int, bool]) -> set[int]:
        return {f for f, sleeps in cause.items() if not sleeps or self.rng.random() < self.job.faults[f].shows}

    def _read(self, check: Check, cause: dict[int, bool] | None) -> int:
        there = dict(self._any_listed()) if cause is None else cause
        truly_bad = bool(self._awake(there) & check.looks_at)
        return BAD if self.rng.random() < (check.detects if truly_bad else check.false_alarm) else FINE

    def _proof_fails(self, cause: dict[int, bool] | None) -> bool:
        shows = cause is None or bool(self._awake(cause))
        return shows and self.rng.random() < self.job.proof.detects


@pytest.mark.parametrize("kind", ["perfect", "imperfect", "imperfect, sleeping"])
def test_expected_minutes_are_those_of_simulated_jobs(kind: str) -> None:
    """The expectation lies within four standard errors of the mean over jobs played with hidden causes."""
    job = poor_proof(tiny(kind, 7))
    policy = policies.cheapest_first(job)
    steps: dict[tuple[Event, ...], Step] = {}
    states = {(): begin(job)}

    def ask(history: tuple[Event, ...]) -> Step:
        if history not in steps:
            if history:
                before = history[:-1]
                result = carry_out(job, states[before], steps[before])
                states.update({state.history: state for _, state in result.goes_on})
            steps[history] = policy(states[history])
        return steps[history]

    bench = Bench(job, random.Random(3))
    played = [bench.play(ask) for _ in range(10_000)]
    mean = math.fsum(played) / len(played)
    error = math.sqrt(math.fsum((one - mean) ** 2 for one in played)) / len(played)
    assert abs(expected(job, policy) - mean) < 4.0 * error


# ------------------------------------------------------------------------------------------------- the generator


@pytest.mark.parametrize("seed", range(12))
def test_generated_jobs_are_within_their_ranges(seed: int) -> None:
    """Weights sum to one, minutes lie within the ranges drawn from, and every check can be reached."""
    job = generate.job(seed, faults=10, checks=11, conditions=3 + seed % 3, perfect=seed % 4 < 2)
    assert math.fsum(h.weight for h in job.hypotheses) + job.unlisted == pytest.approx(1.0)
    assert len(job.hypotheses) == (13 if seed % 4 == 1 else 10)
    assert {"master", "jacks"} <= {condition.name for condition in job.conditions}
    assert 350.0 <= job.help <= 700.0
    assert job.comeback == job.help
    assert all(8.0 <= fault.repair <= 480.0 for fault in job.faults)
    assert all(2.0 <= check.minutes <= 25.0 and check.looks_at for check in job.checks)
    assert all(can_stand(job, thing.needs) for thing in (*job.checks, *job.faults, job.proof))
    assert not any(job.checks[earlier].after for check in job.checks for earlier in check.after)
    assert job.perfect == (seed % 4 < 2)


def test_pairs_weigh_five_percent() -> None:
    """A perfect job with an odd seed has three pairs of faults that weigh 5 % together."""
    job = generate.job(3, faults=9, checks=8, conditions=3, perfect=True)
    pairs = [h.weight for h in job.hypotheses if len(h.faults) == 2]
    assert len(pairs) == 3
    assert math.fsum(pairs) == pytest.approx(0.05)


def test_setups_and_wheels() -> None:
    """Set-ups are multiplied throughout, and a proof on the wheels needs no jacks."""
    one, four = (
        generate.job(2, faults=8, checks=8, conditions=4, perfect=True, setups=factor, on_wheels=True)
        for factor in (1.0, 4.0)
    )
    assert [c.set_up * 4.0 for c in one.conditions] == pytest.approx([c.set_up for c in four.conditions])
    assert [c.restore * 4.0 for c in one.conditions] == pytest.approx([c.restore for c in four.conditions])
    assert [one.conditions[c].name for c in one.proof.needs] == ["master"]


def test_sleeping_shares() -> None:
    """A fault that comes and goes does so with 0.35 of its weight and is awake with 0.4."""
    job = generate.job(2, faults=12, checks=8, conditions=4, perfect=True, sleeping=True)
    weights = {next(iter(h.faults)): h.weight for h in job.hypotheses}
    asleep = [fault for fault, sleeps in weights if sleeps]
    assert 0 < len(asleep) < 12
    for fault in asleep:
        assert weights[fault, True] / (weights[fault, True] + weights[fault, False]) == pytest.approx(0.35)
        assert job.faults[fault].shows == 0.4
