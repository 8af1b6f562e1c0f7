"""Where a learner's step was not the one to take: what the refined advice would have done there.

This is no proof of the best. Refined advice plays the likeliest steps to the end of the job by the program's own rule
and takes the best of these; the exact best policy is worked out for jobs of a dozen causes alone, and a squawk of a
book has far more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from faulttree.advice import Budget, Situation, Suggestion
from faulttree.belief import Evidence
from faulttree.drill.acts import Act
from faulttree.drill.advised import Advised
from faulttree.drill.play import Play

MOST = 3
"""Points that are looked at, those where by the quick advice most was lost."""

STATES = 1500
"""States of one point, a second or two; where that is not enough nothing is said of it. A count, so that the same drill
has the same debrief."""

WORTH_SAYING = 1.0
"""Minutes that the other step has to be better by."""


@dataclass(frozen=True, slots=True)
class Instead:
    """At a minute somebody ``did`` a step; ``better`` was another, by ``minutes`` of what the rest of the job costs,
    None where the learner's own was not among those played."""

    at: float
    did: str
    better: str
    minutes: float | None


@dataclass(frozen=True, slots=True)
class _Point:
    at: float
    evidence: Evidence
    situation: Situation
    act: Act


def instead(play: Play, advised: Advised) -> tuple[Instead, ...]:
    """The points at which it was another step that refined advice would have taken, in their order."""
    lost = [(loss, point) for point in _points(play) if (loss := _lost(advised, point)) > 0]
    worst = sorted(lost, key=lambda pair: -pair[0])[:MOST]
    found = [_refined(advised, play, point) for _, point in worst]
    return tuple(sorted((one for one in found if one is not None), key=lambda one: one.at))


def _points(play: Play) -> Iterator[_Point]:
    """Each check and repair that was done, with what was known when the learner turned to it."""
    again = Play(play.bench, play.setting)
    known: tuple[float, Evidence, Situation] | None = None
    for act in play.acts:
        if known is None and len(again.state.opening) == len(play.book.opening):
            known = again.minutes, again.evidence, again.situation
        told = again.take(act)
        if told.stop is None and act.kind in ("check", "repair"):
            if known is not None:
                yield _Point(*known, act)
            known = again.minutes, again.evidence, again.situation


def _lost(advised: Advised, point: _Point) -> float:
    """Minutes that the step costs against the first, by the quick advice; 0 where it is the first."""
    advisor = advised.bench.advisor
    listed = advisor.advise(advised.belief(point.evidence), point.situation, ahead=False).suggestions
    if not listed or listed[0].id == point.act.id:
        return 0.0
    own = _own(listed, point)
    worst = max(one.expected_minutes for one in listed)
    return max((own.expected_minutes if own else worst) - listed[0].expected_minutes, 0.0)


def _refined(advised: Advised, play: Play, point: _Point) -> Instead | None:
    advisor = advised.bench.advisor
    listed = advisor.refine(advised.belief(point.evidence), point.situation, Budget(STATES), ahead=False).suggestions
    if not listed or not listed[0].refined or listed[0].id == point.act.id:
        return None
    own = _own(listed, point)
    minutes = own.expected_minutes - listed[0].expected_minutes if own is not None and own.refined else None
    if minutes is not None and minutes < WORTH_SAYING:
        return None
    items = play.book.checks if point.act.kind == "check" else play.book.actions
    return Instead(point.at, items[point.act.id].name, listed[0].name, minutes)


def _own(listed: tuple[Suggestion, ...], point: _Point) -> Suggestion | None:
    return next((one for one in listed if one.id == point.act.id), None)
