"""Ways of picking a step out of the advice: what it proposes, or a rule of thumb over the same list of steps.

All rules of thumb do what is due, repair what is as good as certain, and repair by chance per minute once no check
tells anything; they differ in which check they take. They know the same probabilities as the advice. A printed chart
lists the checks once and for all, in the order that a rule gives them before anything is known but the symptom; who
follows it leaves out a check that can tell nothing any more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from faulttree.advice import Suggestion

SURE = 0.9
TELLS = 0.01
"""Chance from which a repair is done at once; bits from which a check tells something."""

Pick = Callable[[Sequence[Suggestion]], Suggestion]


def advice(steps: Sequence[Suggestion]) -> Suggestion:
    """What is proposed."""
    return steps[0]


def cheapest(steps: Sequence[Suggestion]) -> Suggestion:
    """The check with the fewest minutes now, set-up included."""
    return _by(steps, lambda s: -s.minutes_now)


def information(steps: Sequence[Suggestion]) -> Suggestion:
    """The check with the most bits for its minutes now."""
    return _by(steps, lambda s: s.bits / max(s.minutes_now, 0.5))


def likeliest(steps: Sequence[Suggestion]) -> Suggestion:
    """The likeliest repair that may be worth its minutes at once; where there is none the cheapest check."""
    acts = [s for s in steps if s.kind == "act"]
    return max(acts, key=lambda s: s.chance or 0.0) if acts and not steps[0].owed else cheapest(steps)


def chart(order: Sequence[str]) -> Pick:
    """The first check on a printed list that still tells something; what is not on it comes last."""
    place = {check: number for number, check in enumerate(order)}
    return lambda steps: _by(steps, lambda s: -place.get(s.id, len(place)))


def chart_of(steps: Sequence[Suggestion], worth: Callable[[Suggestion], float]) -> Pick:
    """The chart that lists the checks of the first advice of a job by their worth then."""
    checks = [s for s in steps if s.kind in ("ask", "check")]
    return chart([s.id for s in sorted(checks, key=worth, reverse=True)])


def _by(steps: Sequence[Suggestion], worth: Callable[[Suggestion], float]) -> Suggestion:
    if steps[0].owed:
        return steps[0]
    acts = [s for s in steps if s.kind == "act"]
    sure = [s for s in acts if (s.chance or 0.0) >= SURE]
    checks = [s for s in steps if s.kind in ("ask", "check") and s.bits >= TELLS]
    if sure or not checks:
        return max(sure or acts, key=lambda s: (s.chance or 0.0) / s.minutes_now) if sure or acts else _last(steps)
    return max(checks, key=worth)


def _last(steps: Sequence[Suggestion]) -> Suggestion:
    return next(s for s in steps if s.kind == "help")


PICKS: dict[str, Pick] = {
    "advice": advice,
    "cheapest": cheapest,
    "information": information,
    "likeliest": likeliest,
}

CHARTS: dict[str, Callable[[Suggestion], float]] = {
    "chart by minutes": lambda s: -s.minutes_now,
    "chart by information": lambda s: s.bits / max(s.minutes_now, 0.5),
    "chart by bits": lambda s: s.bits,
}
"""Rules by which a printed chart is ordered, worked out at the symptom."""
