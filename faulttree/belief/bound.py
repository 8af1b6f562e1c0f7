"""How much all fault sets larger than the size limit can weigh: an upper bound, never an estimate.

Each answer bounds the likelihood of a set in two ways. A set that holds none of the modes it looks at reads as a sound
gear would. A set that holds a mode which alone, whatever else is there, settles the outcome is bounded by that mode.
The most telling of these are followed exactly while sets are summed, one bit each; the rest are bounded by the least
of a set's modes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.belief.likelihood import Floats
from faulttree.belief.space import Bools, FaultSpace

TRIES = ((5, 0.0), (5, 0.2), (8, 0.5))
"""How many answers are followed (each doubles the work), and below which share of the largest likelihood a mode counts
as settling one. What is followed no longer bounds by the least mode, so neither is always best; the least is taken."""


HARDLY = 1e-6
"""Share of the bound below which larger sets are no longer summed but bounded together."""


@dataclass(frozen=True, slots=True)
class Bearing:
    """What one answer says of sets, relative to its largest likelihood.

    ``able`` (n_modes,) marks the modes of which it finds one or none (None: it may find something in any set);
    ``sound`` is the likelihood of a set that holds none of them; ``held`` (n_modes,) bounds a set that holds the mode.
    """

    able: Bools | None
    sound: float
    held: Floats


@dataclass(frozen=True, slots=True)
class _Flag:
    """A bit of a set: whether it holds a mode of ``marks``; the factor on its likelihood without one and with one."""

    marks: Bools
    without: float
    within: float


def log_weight_beyond(
    space: FaultSpace, bearings: Sequence[Bearing], needed: Sequence[Bools], enough: float = -math.inf
) -> float:
    """Natural log of the bound, relative to the product of the answers' largest likelihoods; -inf if there is none.

    ``needed`` marks, for each symptom reported, the modes of which a set must hold one. A bound of ``enough`` or less
    is not made any lower.
    """
    if space.limit >= len(space.faults):
        return -math.inf
    first = [_Flag(marks, 0.0, 1.0) for marks in needed]
    bounds = []
    for followed, settled in TRIES:
        flags, rest = _chosen(space, first, bearings, followed, settled)
        with np.errstate(divide="ignore"):
            held = sum((np.log(bearing.held) for bearing in rest), np.zeros(len(space.log_odds)))
        bounds.append(_sum_of_larger(space, flags, held))
        if bounds[-1] <= enough:
            break
    return min(bounds)


def _chosen(
    space: FaultSpace, flags: list[_Flag], bearings: Sequence[Bearing], followed: int, settled: float
) -> tuple[list[_Flag], list[Bearing]]:
    """The flags that tell most, and the answers whose modes are left to bound sets by the least of them."""
    odds = np.exp(space.log_odds)
    scored: list[tuple[float, _Flag, Bearing | None]] = []
    for bearing in bearings:
        if bearing.able is not None and bearing.sound < 1.0:
            scored.append((-math.log(max(bearing.sound, 1e-9)), _Flag(bearing.able, bearing.sound, 1.0), None))
        down = bearing.held <= settled
        if down.any():
            most = float(bearing.held[down].max())
            share = float(odds[down].sum() / odds.sum())
            scored.append((-math.log(max(most, 1e-9)) * share, _Flag(down, 1.0, most), bearing))
    scored.sort(key=lambda item: -item[0])
    taken = scored[: max(followed - len(flags), 0)]
    settling = [id(bearing) for _, _, bearing in taken if bearing is not None]
    return [*flags, *(flag for _, flag, _ in taken)], [b for b in bearings if id(b) not in settling]


def _sum_of_larger(space: FaultSpace, flags: Sequence[_Flag], held: Floats) -> float:
    """Sum over sets larger than the limit of weight x flags' factors x the least bound among the set's modes.

    Modes are taken in falling order of their bound, so each closes the sets in which it is the least. Two modes of one
    fault are not kept apart, which can only raise the sum. Sets are summed by size until what is left hardly weighs.
    """
    kinds = 1 << len(flags)
    factor = np.ones(kinds)
    for bit, flag in enumerate(flags):
        factor *= np.where(np.arange(kinds) >> bit & 1, flag.within, flag.without)
    order = np.argsort(-held, kind="stable")
    odds, least = np.exp(space.log_odds[order]), np.exp(held[order])
    # before[t, kind]: weight of the sets of one size among the modes ahead of mode t, by the flags that they carry.
    before = np.zeros((len(order), kinds))
    before[:, 0] = 1.0
    beyond, total = 0.0, float(odds.sum())
    # Sets of n modes or more weigh at most sum^n / n! e^sum, without anything of the answers but their best.
    rest = float(factor.max() * least.max(initial=0.0)) * total * (math.exp(total) if total < 700.0 else math.inf)
    for size in range(1, len(order) + 1):
        longer = odds[:, None] * before
        for bit, flag in enumerate(flags):
            marked = flag.marks[order]
            halves = longer.reshape(len(longer), kinds >> (bit + 1), 2, 1 << bit)
            halves[marked, :, 1] += halves[marked, :, 0]
            halves[marked, :, 0] = 0.0
        rest *= total / (size + 1)
        if size > space.limit:
            beyond += float(least @ (longer @ factor))
            if rest <= HARDLY * beyond:
                return math.log(beyond + rest)
        before[0] = 0.0
        before[1:] = np.cumsum(longer, axis=0)[:-1]
    return math.log(beyond) if beyond > 0 else -math.inf
