"""A new plan: grown beyond its room, bettered and cut back, and so again; the best that was met."""

from __future__ import annotations

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.workshop.graph import HELP
from faulttree.workshop.plan import Plan
from faulttree.workshop.planning import Gardener, Told
from faulttree.workshop.seeding import Seeder

Starts = tuple[float, ...]

STARTS: Starts = (1.2, 1.5)
GROWN = 2
"""To so many times its room a plan is grown, and so often, before it is cut back: the better of two, since what the
search finds differs. On five symptoms it came out 0 to 7 % cheaper than where all were grown to 1.2."""

BETTERED = (True, True, False, False)
"""So often a plan is cut back and bettered, forgetful or not. Plans that grew with all that is remembered stayed small
and took longer: on doors that do not close 680 to 700 minutes, and 650 the other way."""

REGROWN, AGAIN = 2, 1.3
"""So often at most the plan that came out is grown again, to so many times its room, bettered and cut back: as long as
that makes it cheaper. On four symptoms 3 % were gained on two, nothing on the others."""

LEAST_SAVED = 0.5
"""Minutes of cost that growing again must save to be gone on with."""

DEAR, DEARER, DEAREST = 1.3, 1.5, 3.0
"""Help is taken to cost so many times what it does, since the search gives up too soon; so many times more where it
would still be called at once, and no further than this."""


def grown(
    round_: Round, room: float, told: Told = lambda words: None, dearer: float = DEAR, starts: Starts = STARTS
) -> Plan:
    """A plan that takes at most so many lines: the best that was met, begun at ``starts`` times its room.

    Where help at once looks cheaper than any plan, whose comebacks count too, it is planned with dearer help.
    """
    gardener = _begun(round_, room, told, dearer, starts)
    plan = gardener.plan
    best, kept = np.inf, (plan.copied(), plan.root)
    for forgetful in BETTERED:
        plan.forgetful = forgetful
        gardener.cut_back(room, told=told)
        worth = gardener.honest()
        if worth < best:
            best, kept = worth, (plan.copied(), plan.root)
        gardener.improve()
    plan.forgetful = False
    gardener.cut_back(room, told=told)
    if plan.whole() > best:
        plan.restore(*kept)
    if plan.root == HELP and dearer < DEAREST:
        return grown(round_, room, told, DEARER * dearer, starts)
    _regrow(gardener, room, told)
    return plan


def _regrow(gardener: Gardener, room: float, told: Told) -> None:
    """Grow a plan again and cut it back, for as long as it becomes cheaper by that."""
    plan = gardener.plan
    best = plan.whole()
    for _ in range(REGROWN):
        kept = plan.copied(), plan.root
        plan.forgetful = True
        gardener.grow(AGAIN * room, told)
        gardener.improve()
        gardener.cut_back(room, told=told)
        plan.forgetful = False
        gardener.improve()
        gardener.cut_back(room, told=told)
        worth = plan.whole()
        if worth > best - LEAST_SAVED:
            plan.restore(*kept)
            break
        best = worth


def _begun(round_: Round, room: float, told: Told, dearer: float, starts: Starts) -> Gardener:
    """The best of some plans that were grown beyond their room and cut back."""
    best, worth = None, np.inf
    for beyond in starts:
        plan = Plan(round_, dearer)
        Seeder(plan).seed()
        gardener = Gardener(plan)
        gardener.lead_anew()
        plan.forgetful = True
        for _ in range(GROWN):
            gardener.grow(beyond * room, told)
            gardener.improve()
        full = gardener.room.taken() > room
        gardener.cut_back(room, told=told)
        found = gardener.honest()
        if best is None or found < worth:
            best, worth = gardener, found
        if not full:
            break  # it found no more to add, however much room there is
    assert best is not None
    return best
