"""Prior probability of each fault's modes: rates, hours since last known good, circumstances."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from faulttree.book.model import Book, Circumstance, Fault
from faulttree.errors import UnknownName

CERTAIN = 1.0 - 1e-12
"""A fault is never quite certain beforehand, so that odds stay finite."""


@dataclass(frozen=True, slots=True)
class ModePriors:
    """Probability that the fault is there in its hard mode, and in its comes-and-goes mode."""

    hard: float
    comes_and_goes: float

    @property
    def odds(self) -> tuple[float, float]:
        """Odds of either mode against the fault's absence."""
        absent = 1.0 - self.hard - self.comes_and_goes
        return self.hard / absent, self.comes_and_goes / absent


def _factor(fault: Fault, circumstance: Circumstance) -> tuple[float, float]:
    hard, sleeping = 1.0, 1.0
    pairs = []
    if circumstance.id in fault.promoted_by:
        pairs.append(circumstance.promotes)
    if circumstance.id in fault.demoted_by:
        pairs.append(circumstance.demotes)
    if 0.0 < fault.share < 1.0:
        pairs.append(circumstance.intermittent)
    elif fault.share == 0.0:
        pairs.append((circumstance.steady, 1.0))
    for pair in pairs:
        hard, sleeping = hard * pair[0], sleeping * pair[1]
    return hard, sleeping


def mode_priors(book: Book, fault: Fault, circumstances: Sequence[str], hours: float) -> ModePriors:
    """Priors of one fault's modes. Raises UnknownName for a circumstance that the book does not have.

    p = 1 - exp(-rate x hours / 1000), mode by mode, the rate times the product of its circumstances, that
    product held within the book's bounds. A plain probability is taken as the rate with the same chance.
    """
    hard, sleeping = 1.0, 1.0
    for name in circumstances:
        if name not in book.circumstances:
            raise UnknownName(f"the {book.family} book has no circumstance {name!r}")
        one, other = _factor(fault, book.circumstances[name])
        hard, sleeping = hard * one, sleeping * other
    low, high = book.defaults.factor_low, book.defaults.factor_high
    hard, sleeping = min(max(hard, low), high), min(max(sleeping, low), high)
    if fault.probability is not None:
        expected = -math.log1p(-min(fault.probability, CERTAIN))
    else:
        expected = (fault.rate or 0.0) * hours / 1000.0
    exposure_hard, exposure_sleeping = expected * (1.0 - fault.share) * hard, expected * fault.share * sleeping
    p_hard, p_sleeping = -math.expm1(-exposure_hard), -math.expm1(-exposure_sleeping)
    if p_hard + p_sleeping > CERTAIN:
        # Only after thousands of hours: the two modes exclude each other, so they share what there is.
        whole = min(-math.expm1(-exposure_hard - exposure_sleeping), CERTAIN)
        p_hard, p_sleeping = (
            whole * exposure / (exposure_hard + exposure_sleeping) for exposure in (exposure_hard, exposure_sleeping)
        )
    return ModePriors(p_hard, p_sleeping)
