"""A small troubleshooting job as plain data: what it costs, what each step can lead to. Independent of the program.

A job is one squawk with a handful of possible causes. Everything is an index into one of the job's tuples, every
minute a minute of cost. Nothing here searches or prunes; the functions read the rules word by word, so that the
faster programs beside this one can be held against them.

A step is ``("check", i)``, ``("repair", f)`` or ``("help",)``; a check or repair may name one further condition,
``("check", i, extra)``, which is set up together with the needs of the step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

BAD, FINE = 0, 1
Step = tuple[Literal["help"]] | tuple[Literal["check", "repair"], int] | tuple[Literal["check", "repair"], int, int]
Event = tuple[Literal["check"], int, int] | tuple[Literal["repair"], int]
Standing = frozenset[int]
HELP: Step = ("help",)
CERTAIN_LOSS = 1e-15
"""A branch no likelier than this is taken as impossible: it is what rounding leaves of a zero."""


@dataclass(frozen=True)
class Condition:
    """A state of the aircraft. ``not_while``: it is set up and restored only while none of these stands."""

    name: str
    set_up: float
    restore: float
    implies: tuple[int, ...] = ()
    excludes: tuple[int, ...] = ()
    not_while: tuple[int, ...] = ()


@dataclass(frozen=True)
class Fault:
    """``repair`` minutes, part included; ``shows`` how likely a comes-and-goes occurrence is awake at a look."""

    repair: float
    needs: tuple[int, ...] = ()
    shows: float = 1.0


@dataclass(frozen=True)
class Check:
    """Shows bad (0) with ``detects`` if a standing, awake fault of ``looks_at`` is there, else with ``false_alarm``."""

    minutes: float
    looks_at: frozenset[int]
    needs: tuple[int, ...] = ()
    detects: float = 1.0
    false_alarm: float = 0.0
    after: tuple[int, ...] = ()


@dataclass(frozen=True)
class Hypothesis:
    """What may be wrong: pairs (fault, whether it comes and goes), and how likely at the outset."""

    faults: frozenset[tuple[int, bool]]
    weight: float


@dataclass(frozen=True)
class Proof:
    """The check after every repair. It fails with ``detects`` if something standing is awake, never otherwise."""

    minutes: float
    needs: tuple[int, ...] = ()
    detects: float = 1.0


@dataclass(frozen=True)
class Job:
    """``unlisted`` and the weights of the hypotheses sum to one. ``help`` ends the job at any time, for good.

    ``comeback`` is the cost of a proof that passed while something still stands.
    """

    conditions: tuple[Condition, ...]
    faults: tuple[Fault, ...]
    checks: tuple[Check, ...]
    hypotheses: tuple[Hypothesis, ...]
    unlisted: float
    proof: Proof
    help: float
    comeback: float

    @property
    def perfect(self) -> bool:
        """Whether a reading always shows what is there."""
        sure = all(check.detects == 1.0 and check.false_alarm == 0.0 for check in self.checks)
        asleep = any(sleeps and self.faults[f].shows < 1.0 for h in self.hypotheses for f, sleeps in h.faults)
        return sure and not asleep and self.proof.detects == 1.0

    @property
    def barred(self) -> bool:
        """Whether some condition has a ``not_while``: changing conditions only when needed may then be dear."""
        return any(condition.not_while for condition in self.conditions)


@dataclass(frozen=True)
class State:
    """Where a job has got to.

    ``weights`` (n_hypotheses + 1,) sum to one, the unlisted cause last. ``done`` since the last repair, ``ever_done``
    in the whole job. A repair in ``history`` means that the proof after it failed.
    """

    weights: tuple[float, ...]
    standing: Standing
    done: frozenset[int]
    ever_done: frozenset[int]
    repaired: tuple[int, ...]
    history: tuple[Event, ...] = ()


Policy = Callable[[State], Step]


@dataclass(frozen=True)
class Result:
    """What a step costs at once, with what probability and at what further cost it ends the job, and what else."""

    minutes: float
    ends: float
    cost_of_end: float
    goes_on: tuple[tuple[float, State], ...]


def begin(job: Job) -> State:
    """Nothing stands, nothing is done."""
    weights = (*(h.weight for h in job.hypotheses), job.unlisted)
    return State(weights, frozenset(), frozenset(), frozenset(), ())


# ------------------------------------------------------------------------------------------------- conditions


def closed(job: Job, needs: Iterable[int]) -> Standing:
    """The needs with all they imply."""
    found: set[int] = set()
    waiting = list(needs)
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting.extend(job.conditions[one].implies)
    return frozenset(found)


def excluded(job: Job, a: int, b: int) -> bool:
    """Whether two conditions never stand together, whichever side says so."""
    return b in job.conditions[a].excludes or a in job.conditions[b].excludes


def can_stand(job: Job, needs: Iterable[int]) -> bool:
    """Whether the needs can be set up together: no two exclude each other, and some order of setting up is allowed."""
    left = set(closed(job, needs))
    if any(excluded(job, a, b) for a in left for b in left):
        return False
    up: set[int] = set()
    while left:
        allowed = [c for c in left if up.issuperset(job.conditions[c].implies)]
        # one that bars others from moving has to wait until they are up
        ready = [c for c in allowed if not any(c in job.conditions[other].not_while for other in left)]
        if not ready:
            return False
        up.update(ready)
        left.difference_update(ready)
    return True


def move(job: Job, standing: Standing, needs: Iterable[int]) -> tuple[float, Standing]:
    """Minutes to come from what stands to what is needed, and what stands then.

    What neither bars nor is needed stays as it is. Raises ValueError if the needs cannot stand together.
    """
    need = closed(job, needs)
    if not can_stand(job, need):
        raise ValueError(f"conditions {sorted(need)} cannot stand together")
    off = {c for c in standing if any(excluded(job, c, n) for n in need)}
    while True:
        moved = off | (need - (standing - off))
        barring = {b for c in moved for b in job.conditions[c].not_while}
        more = {c for c in standing - off if c in barring or off.intersection(job.conditions[c].implies)}
        if not more:
            break
        off |= more
    on = need - (standing - off)
    minutes = sum(job.conditions[c].restore for c in off) + sum(job.conditions[c].set_up for c in on)
    return minutes, (standing - off) | on


def restore_all(job: Job, standing: Standing) -> float:
    """Minutes to put everything back that stands."""
    return sum(job.conditions[c].restore for c in standing)


# ------------------------------------------------------------------------------------------------- readings


def awake(job: Job, hypothesis: Hypothesis, among: frozenset[int]) -> float:
    """Probability that at least one of the hypothesis' faults among these is awake at a look."""
    asleep = 1.0
    for fault, sleeps in hypothesis.faults:
        if fault in among:
            asleep *= 1.0 - job.faults[fault].shows if sleeps else 0.0
    return 1.0 - asleep


def shows_bad(job: Job, check: Check, repaired: frozenset[int]) -> tuple[float, ...]:
    """P(bad) of a check under each hypothesis, (n_hypotheses + 1,).

    Under the unlisted cause it is what the check shows on average over the listed ones at the outset.
    """

    def bad(hypothesis: Hypothesis, looks_at: frozenset[int]) -> float:
        there = awake(job, hypothesis, looks_at)
        return there * check.detects + (1.0 - there) * check.false_alarm

    listed = sum(h.weight for h in job.hypotheses)
    average = sum(h.weight * bad(h, check.looks_at) for h in job.hypotheses) / listed
    return (*(bad(h, check.looks_at - repaired) for h in job.hypotheses), average)


def proof_fails(job: Job, repaired: frozenset[int]) -> tuple[float, ...]:
    """P(the proof shows the squawk) under each hypothesis once these are repaired, (n_hypotheses + 1,)."""
    left = frozenset(range(len(job.faults))) - repaired
    return (*(job.proof.detects * awake(job, h, left) for h in job.hypotheses), job.proof.detects)


def still_stands(job: Job, repaired: frozenset[int]) -> tuple[bool, ...]:
    """Whether something is still wrong under each hypothesis, (n_hypotheses + 1,)."""
    return (*(any(f not in repaired for f, _ in h.faults) for h in job.hypotheses), True)


# ------------------------------------------------------------------------------------------------- steps


def options(job: Job, state: State) -> list[Step]:
    """Every step that the rules allow."""
    plain: list[Step] = [("check", i) for i in range(len(job.checks)) if may_check(job, state, i)]
    plain += [("repair", f) for f in range(len(job.faults)) if f not in state.repaired]
    steps: list[Step] = [HELP, *plain]
    if job.barred:
        for step in plain:
            assert len(step) == 2
            kind, i = step
            needs = closed(job, needs_of(job, step))
            others = (c for c in range(len(job.conditions)) if c not in needs and can_stand(job, needs | {c}))
            steps += [(kind, i, other) for other in others]
    return steps


def may_check(job: Job, state: State, check: int) -> bool:
    """Whether a check is open: not done since the last repair, and all that must come before it was done."""
    return check not in state.done and state.ever_done.issuperset(job.checks[check].after)


def needs_of(job: Job, step: Step) -> tuple[int, ...]:
    """The conditions to stand for a step, its further one included. Help needs none."""
    if len(step) == 1:
        return ()
    own = job.checks[step[1]].needs if step[0] == "check" else job.faults[step[1]].needs
    return (*own, step[2]) if len(step) == 3 else own


def carry_out(job: Job, state: State, step: Step) -> Result:
    """What a step costs and leads to. Raises ValueError for a step that the rules do not allow."""
    if len(step) == 1:
        if step[0] != "help":
            raise ValueError(f"no such step: {step}")
        return Result(job.help, 1.0, 0.0, ())
    if len(step) == 3 and not (job.barred and can_stand(job, needs_of(job, step))):
        raise ValueError(f"nothing allows the further condition of {step}")
    if step[0] == "check":
        return _check(job, state, step)
    if step[0] == "repair":
        return _repair(job, state, step)
    raise ValueError(f"no such step: {step}")


def _check(job: Job, state: State, step: Step) -> Result:
    assert len(step) > 1
    i = step[1]
    if not (0 <= i < len(job.checks) and may_check(job, state, i)):
        raise ValueError(f"check {i} is not open: done {sorted(state.done)}, ever {sorted(state.ever_done)}")
    minutes, standing = move(job, state.standing, needs_of(job, step))
    bad = shows_bad(job, job.checks[i], frozenset(state.repaired))
    goes_on = []
    for outcome, chances in ((BAD, bad), (FINE, [1.0 - b for b in bad])):
        probability, weights = _given(state.weights, chances)
        if probability > CERTAIN_LOSS:
            history = (*state.history, ("check", i, outcome))
            done, ever = state.done | {i}, state.ever_done | {i}
            goes_on.append((probability, State(weights, standing, done, ever, state.repaired, history)))
    return Result(minutes + job.checks[i].minutes, 0.0, 0.0, tuple(goes_on))


def _repair(job: Job, state: State, step: Step) -> Result:
    assert len(step) > 1
    fault = step[1]
    if not 0 <= fault < len(job.faults) or fault in state.repaired:
        raise ValueError(f"fault {fault} is repaired already or unknown")
    there, standing = move(job, state.standing, needs_of(job, step))
    to_proof, standing = move(job, standing, job.proof.needs)
    minutes = there + job.faults[fault].repair + to_proof + job.proof.minutes
    repaired = frozenset((*state.repaired, fault))
    fails = proof_fails(job, repaired)
    passed = [w * (1.0 - p) for w, p in zip(state.weights, fails, strict=True)]
    left = sum(p for p, stands in zip(passed, still_stands(job, repaired), strict=True) if stands)
    ends = sum(passed)
    after = restore_all(job, standing) + (job.comeback * left / ends if ends > CERTAIN_LOSS else 0.0)
    probability, weights = _given(state.weights, fails)
    goes_on: tuple[tuple[float, State], ...] = ()
    if probability > CERTAIN_LOSS:
        history = (*state.history, ("repair", fault))
        now = State(weights, standing, frozenset(), state.ever_done, (*state.repaired, fault), history)
        goes_on = ((probability, now),)
    return Result(minutes, ends, after, goes_on)


def _given(weights: Iterable[float], chances: Iterable[float]) -> tuple[float, tuple[float, ...]]:
    joint = [w * c for w, c in zip(weights, chances, strict=True)]
    total = sum(joint)
    return total, tuple(j / total for j in joint) if total > CERTAIN_LOSS else ()
