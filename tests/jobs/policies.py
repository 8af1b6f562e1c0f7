"""What a mechanic would follow without the program: printed charts and rules of thumb. Each ends every job.

All of them repair as soon as one fault is as good as certain, and when their checks are used up they go through the
repairs in falling order of probability to cost (Kadane and Simon, Artificial Intelligence 9, 1977), up to the point
from which calling help is cheaper than going on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache

from tests.jobs.model import BAD, HELP, Job, Policy, State, Step, carry_out, move, shows_bad

CERTAIN = 0.9
"""Posterior from which a cause counts as found where readings can err."""
TELLS = 1e-9
"""Bits below which a check tells nothing."""


class Shop:
    """A job as somebody sees it who reads off probabilities but does not plan ahead."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.perfect = job.perfect
        self.bad = cache(lambda i, repaired: shows_bad(job, job.checks[i], repaired))
        self.holding = [
            [h for h, hypothesis in enumerate(job.hypotheses) if any(fault == f for fault, _ in hypothesis.faults)]
            for f in range(len(job.faults))
        ]
        self.first_weight = [sum(job.hypotheses[h].weight for h in holding) for holding in self.holding]

    # -- what is known ---------------------------------------------------------------------------------

    def stands(self, state: State, fault: int) -> float:
        """Probability that a fault stands."""
        if fault in state.repaired:
            return 0.0
        return sum(state.weights[h] for h in self.holding[fault])

    def found(self, state: State) -> int | None:
        """The fault that is as good as certain, if there is one."""
        likeliest = max(range(len(self.job.faults)), key=lambda f: self.stands(state, f))
        needed = (1.0 - state.weights[-1]) * (1.0 - TELLS) if self.perfect else CERTAIN
        listed = 1.0 - state.weights[-1]
        return likeliest if listed > TELLS and self.stands(state, likeliest) >= needed else None

    def bits(self, state: State, check: int) -> float:
        """Mutual information between what a check shows and which listed cause it is."""
        listed = math.fsum(state.weights[:-1])
        if listed <= TELLS:
            return 0.0
        bad = self.bad(check, frozenset(state.repaired))
        shown, within = 0.0, 0.0
        for weight, chance in zip(state.weights[:-1], bad, strict=False):
            shown += weight / listed * chance
            within += weight / listed * entropy(chance)
        return entropy(shown) - within

    def telling(self, state: State) -> list[int]:
        """The checks not done since the last repair that can still tell listed causes apart."""
        return [i for i in range(len(self.job.checks)) if i not in state.done and self.bits(state, i) > TELLS]

    def way_to(self, state: State, check: int) -> list[int]:
        """The check behind all that must be done before it and never was."""
        missing: list[int] = []
        for earlier in self.job.checks[check].after:
            if earlier not in state.ever_done:
                missing += [i for i in self.way_to(state, earlier) if i not in missing]
        return [*missing, check]

    def minutes(self, state: State, check: int) -> float:
        """Minutes of a check now, with what must come before it and what has to be set up."""
        standing, total = state.standing, 0.0
        for i in self.way_to(state, check):
            there, standing = move(self.job, standing, self.job.checks[i].needs)
            total += there + self.job.checks[i].minutes
        return total

    def looked_at(self, check: int) -> float:
        """Weight at the outset of the causes that a check looks at."""
        looks_at = self.job.checks[check].looks_at
        return sum(h.weight for h in self.job.hypotheses if any(f in looks_at for f, _ in h.faults))

    # -- repairs ---------------------------------------------------------------------------------------

    def repair_minutes(self, state: State, fault: int) -> float:
        """Minutes of a repair and its proof now."""
        there, standing = move(self.job, state.standing, self.job.faults[fault].needs)
        to_proof, _ = move(self.job, standing, self.job.proof.needs)
        return there + self.job.faults[fault].repair + to_proof + self.job.proof.minutes

    def finish(self, state: State) -> Step:
        """The next of the repairs, likeliest per minute first, or help where that is cheaper than the rest."""
        order = sorted(
            (f for f in range(len(self.job.faults)) if self.stands(state, f) > TELLS),
            key=lambda f: -self.stands(state, f) / self.repair_minutes(state, f),
        )
        return ("repair", order[0]) if order and self._sequence(state, order) < self.job.help else HELP

    def _sequence(self, state: State, order: Sequence[int]) -> float:
        """Expected minutes of repairing in this order, each time going over to help if that is cheaper."""
        if not order:
            return self.job.help
        result = carry_out(self.job, state, ("repair", order[0]))
        cost = result.minutes + result.ends * result.cost_of_end
        for probability, after in result.goes_on:
            cost += probability * min(self.job.help, self._sequence(after, order[1:]))
        return cost


def entropy(chance: float) -> float:
    """Bits of a yes or no."""
    return -sum(p * math.log2(p) for p in (chance, 1.0 - chance) if p > 0.0)


def _following(job: Job, choose: Callable[[Shop, State], Step | int | None]) -> Policy:
    """Repair what is found; else do what the rule chooses, a check by its number; else go through the repairs."""
    shop = Shop(job)

    def policy(state: State) -> Step:
        found = shop.found(state)
        if found is not None:
            return ("repair", found)
        chosen = choose(shop, state)
        if chosen is None:
            return shop.finish(state)
        return ("check", shop.way_to(state, chosen)[0]) if isinstance(chosen, int) else chosen

    return policy


def printed_table(job: Job) -> Policy:
    """Causes likeliest first: look at each by its own check if there is one, else simply try its repair."""

    def own_check(fault: int) -> int | None:
        own = [i for i, check in enumerate(job.checks) if check.looks_at == {fault}]
        return min(own, key=lambda i: job.checks[i].minutes) if own else None

    checks = [own_check(fault) for fault in range(len(job.faults))]

    def choose(shop: Shop, state: State) -> Step | int | None:
        for fault in sorted(range(len(job.faults)), key=lambda f: -shop.first_weight[f]):
            if shop.stands(state, fault) <= TELLS:
                continue
            check = checks[fault]
            if check is not None and check not in state.ever_done:
                return check
            if check is None or last_reading(state, check) == BAD:
                return ("repair", fault)
        return None

    return _following(job, choose)


def last_reading(state: State, check: int) -> int | None:
    """What a check showed when it was last done."""
    return next((e[2] for e in reversed(state.history) if len(e) == 3 and e[1] == check), None)


def checklist(job: Job) -> Policy:
    """Checks in falling order of the weight that they look at per minute, without those that tell nothing any more."""
    rank = _ranks(by_weight_per_minute(job))
    return _following(job, lambda shop, state: min(shop.telling(state), key=rank.__getitem__, default=None))


def cheapest_first(job: Job) -> Policy:
    """Of the checks that can still tell something the one with the fewest minutes now, set-up included."""

    def choose(shop: Shop, state: State) -> int | None:
        return min(shop.telling(state), key=lambda i: (shop.minutes(state, i), i), default=None)

    return _following(job, choose)


def likeliest_first(job: Job) -> Policy:
    """Look at the likeliest cause by the quickest check that can clear or convict it, then at the next likeliest."""

    def choose(shop: Shop, state: State) -> int | None:
        telling = shop.telling(state)
        for fault in sorted(range(len(job.faults)), key=lambda f: -shop.stands(state, f)):
            looking = [i for i in telling if fault in job.checks[i].looks_at]
            if looking and shop.stands(state, fault) > TELLS:
                return min(looking, key=lambda i: (shop.minutes(state, i), i))
        return None

    return _following(job, choose)


def information_per_minute(job: Job) -> Policy:
    """The check with the most mutual information per minute, set-up included."""

    def choose(shop: Shop, state: State) -> int | None:
        return max(shop.telling(state), key=lambda i: shop.bits(state, i) / shop.minutes(state, i), default=None)

    return _following(job, choose)


def _ranks(order: Sequence[int]) -> dict[int, int]:
    return {check: place for place, check in enumerate(order)}


def by_weight_per_minute(job: Job) -> list[int]:
    """The checks in falling order of the weight at the outset that they look at per minute."""
    shop = Shop(job)
    return sorted(range(len(job.checks)), key=lambda i: -shop.looked_at(i) / job.checks[i].minutes)
