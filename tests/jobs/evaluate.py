"""What a policy costs on a job: the expectation worked out over every outcome, nothing sampled."""

from __future__ import annotations

from collections.abc import Hashable

from tests.jobs.model import Job, Policy, State, begin, carry_out


def expected(job: Job, policy: Policy, cut: float = 1e-7) -> float:
    """Expected minutes of cost of following a policy from the start to the end of the job.

    A branch that is reached with less than ``cut`` is valued at the minutes of help. The policy is asked once per
    state, its history and the order of its repairs apart: it may use those only to tell what the rest tells anyway.
    Raises ValueError if the policy proposes a step that the rules do not allow.
    """
    return _cost(job, policy, begin(job), 1.0, cut, {})


def key_of(state: State) -> Hashable:
    """A state without its history, weights to 1e-12."""
    weights = tuple(round(weight, 12) for weight in state.weights)
    return weights, state.standing, state.done, state.ever_done, frozenset(state.repaired)


def _cost(
    job: Job, policy: Policy, state: State, reached: float, cut: float, known: dict[Hashable, tuple[float, float]]
) -> float:
    if reached < cut:
        return job.help
    key = key_of(state)
    before = known.get(key)
    # a value found where branches were cut earlier does not serve where the state is likelier
    if before is not None and before[0] >= reached:
        return before[1]
    result = carry_out(job, state, policy(state))
    later = sum(p * _cost(job, policy, after, reached * p, cut, known) for p, after in result.goes_on)
    cost = result.minutes + result.ends * result.cost_of_end + later
    known[key] = (reached, cost)
    return cost
