"""The least expected cost of a tiny job by plain enumeration: every allowed step, every outcome, nothing cut."""

from __future__ import annotations

from collections.abc import Hashable

from tests.jobs.model import Job, State, begin, carry_out, options


def least_cost(job: Job, *, remember: bool = False) -> float:
    """Minutes of cost that the best policy expects from the start.

    With ``remember`` a state met again (its history apart, weights to 1e-12) is not worked out again.
    """
    known: dict[Hashable, float] | None = {} if remember else None
    return _least(job, begin(job), known)


def _least(job: Job, state: State, known: dict[Hashable, float] | None) -> float:
    weights = tuple(round(weight, 12) for weight in state.weights)
    key = (weights, state.standing, state.done, state.ever_done, frozenset(state.repaired))
    if known is not None and key in known:
        return known[key]
    costs = []
    for step in options(job, state):
        result = carry_out(job, state, step)
        later = sum(probability * _least(job, after, known) for probability, after in result.goes_on)
        costs.append(result.minutes + result.ends * result.cost_of_end + later)
    if known is not None:
        known[key] = min(costs)
    return min(costs)
