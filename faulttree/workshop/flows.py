"""What comes along the ways of a plan: weights of rows by what was done before, as a dozen stories at most."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats

LIGHT = 7e-4
MOST_STORIES, MOST_GROUPS = 12, 6
"""Ways to a step that are lighter than this, or more than so many, are put together; what they share is known, the rest
as a blur. So many standings of those that were put together are told apart."""

FINELY = 12
"""So many times more are told apart where the minutes are worked out that are printed."""


class Blur:
    """What stories that were put together remember each on its own: the share of each row's weight, by bit.

    On one row the outcomes of checks do not depend on each other, so a share for each is nearly all there is to keep;
    what was done and forgotten would show something new when it is met again, and plans would be made of that.
    """

    __slots__ = ("_table", "places")

    def __init__(self, places: dict[int, int], table: Floats) -> None:
        """``places`` the row of the table for each bit; what has no bit any more may stay in the table."""
        self.places, self._table = places, table

    def of(self, bit: int) -> Floats | None:
        """The share of what remembers a bit, for each row of the job; None where nothing does."""
        place = self.places.get(bit)
        return None if place is None else self._table[place]

    def shares(self) -> Floats:
        """Those of all bits, in their order."""
        every = list(self.places.values())
        return self._table if len(every) == len(self._table) else self._table[every]

    def without(self, bits: int) -> Blur | None:
        """The same with these forgotten."""
        kept = {bit: place for bit, place in self.places.items() if not bits & 1 << bit}
        if len(kept) == len(self.places):
            return self
        return Blur(kept, self._table) if kept else None


class Story(NamedTuple):
    """What stands, the bits of what is remembered (outcomes by columns, then repairs), the noted leg (0: none).

    ``blur`` what a part of it remembers besides. ``failed`` the repair that failed just before, -1 for none: what was
    found after it may stop the next steps.
    """

    standing: Standing
    known: int
    leg: int = 0
    blur: Blur | None = None
    failed: int = -1


Flow = dict[Story, Floats]
"""Weights of the rows (n + 1,) that come along a way, by what was done before; not normalised."""

UNTOUCHED = Story(frozenset(), 0)


def pour(into: Flow, story: Story, weights: Floats) -> None:
    """Add what comes along with a story."""
    into[story] = into[story] + weights if story in into else weights


def together(flow: Flow) -> Floats:
    """Weights of the rows over all stories of a flow, shape (n_rows + 1,)."""
    return np.asarray(np.sum(list(flow.values()), axis=0))


def put_together(flow: Flow, forgetful: bool = False, finely: bool = False) -> Flow:
    """The same with the light stories of each standing as one, that knows what all of them know.

    What they do not share is kept as a blur, unless ``forgetful``. ``finely``: so many times more are told apart.

    Where there are still many, the lightest of these go with the heaviest one of their leg, as if they stood alike.
    """
    if len(flow) < 2:
        return flow
    sums = {story: float(weights.sum()) for story, weights in flow.items()}
    heavy = sorted(flow, key=lambda story: -sums[story])
    times = FINELY if finely else 1
    kept = {story for story in heavy[: times * MOST_STORIES] if sums[story] >= LIGHT / times}
    groups: dict[tuple[Standing, int], list[Story]] = {}
    for story in heavy:
        if story not in kept:
            groups.setdefault((story.standing, story.leg), []).append(story)
    if len(groups) > times * MOST_GROUPS:
        groups = _fewer(groups, sums, times * MOST_GROUPS)
    found: Flow = {story: flow[story] for story in heavy if story in kept}
    for (standing, leg), stories in groups.items():
        if len(stories) == 1:
            pour(found, stories[0], flow[stories[0]])
            continue
        known = -1
        for story in stories:
            known &= story.known
        weights = np.array([flow[story] for story in stories])
        blur = None if forgetful else _blurred(stories, weights, known)
        pour(found, Story(standing, known, leg, blur), weights.sum(axis=0))
    return found


def _blurred(stories: list[Story], weights: Floats, shared: int) -> Blur | None:
    """What stories with these weights, shape (n_stories, n + 1), remember besides what all of them do."""
    bits, table = _by_bit(stories, weights, ~shared)
    if not bits:
        return None
    table /= np.maximum(weights.sum(axis=0), 1e-300)
    return Blur({bit: place for place, bit in enumerate(bits)}, table)


def _by_bit(stories: Sequence[Story], weights: Floats, asked: int) -> tuple[list[int], Floats]:
    """The bits of ``asked`` that any story remembers, and the weights of what does, a row for each."""
    told = _unpacked([story.known & asked for story in stories])
    known = np.flatnonzero(told.any(axis=0)).tolist()
    listed = dict.fromkeys(known) | dict.fromkeys(bit for s in stories if s.blur for bit in s.blur.places)
    places = {bit: place for place, bit in enumerate(listed)}
    table = np.zeros((len(places), weights.shape[1]))
    if known:
        table[: len(known)] = told[:, known].T.astype(np.float64, order="C") @ weights
    for story, weight in zip(stories, weights, strict=True):
        if story.blur is not None:
            table[[places[bit] for bit in story.blur.places]] += story.blur.shares() * weight
    return list(places), table


def _unpacked(sets: Sequence[int]) -> NDArray[np.bool_]:
    """Whether each of some sets holds each bit, shape (n_sets, n_bits)."""
    size = max(max(one.bit_length() for one in sets) + 7 >> 3, 1)
    packed = np.frombuffer(b"".join(one.to_bytes(size, "little") for one in sets), dtype=np.uint8)
    return np.unpackbits(packed.reshape(len(sets), size), axis=1, bitorder="little").astype(np.bool_)


def remembered(flow: Flow) -> dict[int, Floats]:
    """Weights of the rows that come along with something remembered, by its bit."""
    if not flow:
        return {}
    bits, table = _by_bit(list(flow), np.array(list(flow.values())), -1)
    return dict(zip(bits, table, strict=True))


def _fewer(
    groups: dict[tuple[Standing, int], list[Story]], sums: dict[Story, float], most: int
) -> dict[tuple[Standing, int], list[Story]]:
    order = sorted(groups, key=lambda where: -sum(sums[story] for story in groups[where]))
    found = {where: groups[where] for where in order[:most]}
    for where in order[most:]:
        same = next((other for other in found if other[1] == where[1]), None)
        if same is None:
            found[where] = groups[where]
        else:
            found[same] = [*found[same], *groups[where]]
    return found
