"""What comes along the ways of a plan: weights of rows by what was done before, as a dozen stories at most."""

from __future__ import annotations

from typing import NamedTuple

from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats

LIGHT = 7e-4
MOST_STORIES, MOST_GROUPS = 12, 6
"""Ways to a step that are lighter than this, or more than so many, are put together; what they do not share is lost.
So many standings of those that were put together are told apart."""


class Story(NamedTuple):
    """What stands, the bits of what is remembered (outcomes by columns, then repairs), the noted leg (0: none)."""

    standing: Standing
    known: int
    leg: int = 0


Flow = dict[Story, Floats]
"""Weights of the rows (n + 1,) that come along a way, by what was done before; not normalised."""

UNTOUCHED = Story(frozenset(), 0)


def pour(into: Flow, story: Story, weights: Floats) -> None:
    """Add what comes along with a story."""
    into[story] = into[story] + weights if story in into else weights


def put_together(flow: Flow) -> Flow:
    """The same with the light stories of each standing as one, that knows what all of them know.

    Where there are still many, the lightest of these go with the heaviest one of their leg, as if they stood alike.
    """
    if len(flow) < 2:
        return flow
    sums = {story: float(weights.sum()) for story, weights in flow.items()}
    heavy = sorted(flow, key=lambda story: -sums[story])
    kept = {story for story in heavy[:MOST_STORIES] if sums[story] >= LIGHT}
    groups: dict[tuple[Standing, int], list[Story]] = {}
    for story in heavy:
        if story not in kept:
            groups.setdefault((story.standing, story.leg), []).append(story)
    if len(groups) > MOST_GROUPS:
        groups = _fewer(groups, sums)
    found: Flow = {story: flow[story] for story in heavy if story in kept}
    for (standing, leg), stories in groups.items():
        known = -1
        for story in stories:
            known &= story.known
        for story in stories:
            pour(found, Story(standing, known, leg), flow[story])
    return found


def _fewer(
    groups: dict[tuple[Standing, int], list[Story]], sums: dict[Story, float]
) -> dict[tuple[Standing, int], list[Story]]:
    order = sorted(groups, key=lambda where: -sum(sums[story] for story in groups[where]))
    found = {where: groups[where] for where in order[:MOST_GROUPS]}
    for where in order[MOST_GROUPS:]:
        same = next((other for other in found if other[1] == where[1]), None)
        if same is None:
            found[where] = groups[where]
        else:
            found[same] = [*found[same], *groups[where]]
    return found
