"""Conditions set up early, because what a step sets up would bar them later.

Setting up only what the next step needs is best as long as no condition bars another (``not_while``). Where one does
(panels come out before the jacks go in) being lazy can mean jacking twice, so such a step is also valued with the
barred condition set up first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from faulttree.advice.choice import State, Step
from faulttree.advice.rollout import Play
from faulttree.book.model import Check


def early_variants(play: Play, state: State, steps: Sequence[Step]) -> Iterator[Step]:
    """The steps that set up what bars a condition still wanted, with that condition set up first."""
    moves, choice = play.job.floor.moves, play.choice(state)
    conditions = play.job.floor.book.conditions
    wanted = _wanted(play, state) - state.standing
    for step in steps:
        if step.kind not in ("check", "act") or step.also:
            continue
        now = play.next_of(state, step)
        item = play.job.item(now.kind, now.place)
        if isinstance(item, Check) and item.kind == "ask":
            continue  # a question moves nothing, and what is wanted before all else does not come before it
        sets_up = set(moves.cost(state.standing, (*item.needs, *state.forced)).after) - state.standing
        for name in sorted(wanted - sets_up):
            if not sets_up.isdisjoint(conditions[name].not_while) and conditions[name].proposed:
                varied = step._replace(also=(name,))
                table = choice.table
                cost = table.check if now.kind == "check" else table.action
                if cost(now.place, varied.also) is not None:
                    yield varied


def _wanted(play: Play, state: State) -> frozenset[str]:
    """Conditions that a check which tells something, or a repair that may be right, will need."""
    moves, choice = play.job.floor.moves, play.choice(state)
    needs = [play.job.checks[c].needs for c in (choice.check_ratio > 0).nonzero()[0]]
    needs += [play.job.actions[a].needs for a in (choice.success > 0).nonzero()[0]]
    return frozenset[str]().union(*(moves.closure(need) for need in dict.fromkeys(needs)))
