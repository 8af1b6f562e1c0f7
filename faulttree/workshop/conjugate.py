"""Gamma and beta distributions as far as conjugate updates want them: mean, deviation, quantiles.

The incomplete functions are worked out by series and continued fraction as the NIST Digital Library of Mathematical
Functions gives them (https://dlmf.nist.gov, equations named below), continued fractions by the method of Lentz (Applied
Optics 15, 1976) as Thompson and Barnett amended it (Journal of Computational Physics 64, 1986); quantiles by steps of
Newton between bounds. The updates are those of any textbook, for instance Hamada, Wilson, Reese, Martz, Bayesian
Reliability, 2008.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

_SMALL, _CLOSE, _NOTHING = 1e-15, 1e-13, 1e-300
_MOST_TERMS, _HALVINGS = 10_000, 200


@dataclass(frozen=True, slots=True)
class Gamma:
    """What is believed of a rate: density proportional to x^(shape - 1) exp(-rate x). Both are above 0."""

    shape: float
    rate: float

    def updated(self, failures: float, exposure: float) -> Gamma:
        """After ``failures`` counted in ``exposure``, a count taken as Poisson. Shape and rate may be 0 before."""
        return Gamma(self.shape + failures, self.rate + exposure)

    @property
    def mean(self) -> float:
        """shape / rate."""
        return self.shape / self.rate

    @property
    def deviation(self) -> float:
        """The standard deviation."""
        return math.sqrt(self.shape) / self.rate

    def quantile(self, p: float) -> float:
        """The value that is not passed with probability ``p``, 0 < p < 1."""
        top = self.shape + 1.0
        while incomplete_gamma(self.shape, top) < p:
            top *= 2.0
        shape, log_whole = self.shape, math.lgamma(self.shape)
        return _where(
            lambda x: incomplete_gamma(shape, x),
            lambda x: math.exp((shape - 1.0) * math.log(x) - x - log_whole), p, top,
        ) / self.rate  # fmt: skip

    def interval(self, probability: float = 0.9) -> tuple[float, float]:
        """The middle part that holds ``probability``, as much left out below as above."""
        tail = (1.0 - probability) / 2.0
        return self.quantile(tail), self.quantile(1.0 - tail)


@dataclass(frozen=True, slots=True)
class Beta:
    """What is believed of a probability: density proportional to x^(a - 1) (1 - x)^(b - 1). Both are above 0."""

    a: float
    b: float

    def updated(self, successes: float, failures: float) -> Beta:
        """After so many tries that went either way, taken as independent."""
        return Beta(self.a + successes, self.b + failures)

    @property
    def mean(self) -> float:
        """a / (a + b)."""
        return self.a / (self.a + self.b)

    @property
    def deviation(self) -> float:
        """The standard deviation."""
        total = self.a + self.b
        return math.sqrt(self.a * self.b / (total + 1.0)) / total

    def quantile(self, p: float) -> float:
        """The value that is not passed with probability ``p``, 0 < p < 1."""
        a, b = self.a, self.b
        log_whole = math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
        return _where(
            lambda x: incomplete_beta(a, b, x),
            lambda x: math.exp((a - 1.0) * math.log(x) + (b - 1.0) * math.log1p(-x) - log_whole), p, 1.0,
        )  # fmt: skip

    def interval(self, probability: float = 0.9) -> tuple[float, float]:
        """The middle part that holds ``probability``, as much left out below as above."""
        tail = (1.0 - probability) / 2.0
        return self.quantile(tail), self.quantile(1.0 - tail)


def incomplete_gamma(a: float, x: float) -> float:
    """P(a, x), the regularised lower incomplete gamma function, a > 0, x >= 0: series DLMF 8.7.1 (after 8.5.1), beyond
    a + 1 one less the continued fraction DLMF 8.9.2."""
    if x <= 0.0:
        return 0.0
    scale = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x >= a + 1.0:
        # In the form with its even part taken, which converges twice as fast.
        steps = ((-n * (n - a), x + 2.0 * n + 1.0 - a) for n in range(1, _MOST_TERMS))
        return 1.0 - scale / _fraction(x + 1.0 - a, steps)
    term = total = 1.0 / a
    for n in range(1, _MOST_TERMS):
        term *= x / (a + n)
        total += term
        if term < total * _SMALL:
            break
    return scale * total


def incomplete_beta(a: float, b: float, x: float) -> float:
    """I_x(a, b), the regularised incomplete beta function, a, b > 0, 0 <= x <= 1: the continued fraction DLMF 8.17.22,
    on the side where it converges fast (8.17.4)."""
    if x <= 0.0 or x >= 1.0:
        return float(x >= 1.0)
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - incomplete_beta(b, a, 1.0 - x)
    log_beta = math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
    scale = math.exp(a * math.log(x) + b * math.log1p(-x) - log_beta) / a
    return scale / _fraction(1.0, ((d, 1.0) for d in _beta_numerators(a, b, x)))


def _beta_numerators(a: float, b: float, x: float) -> Iterator[float]:
    """Partial numerators of DLMF 8.17.22 by 8.17.23."""
    for m in range(_MOST_TERMS):
        yield -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        yield (m + 1) * (b - m - 1) * x / ((a + 2 * m + 1) * (a + 2 * m + 2))


def _fraction(first: float, steps: Iterator[tuple[float, float]]) -> float:
    """first + a1 / (b1 + a2 / (b2 + …)) for pairs (a, b), until nothing changes any more."""
    value = first or _NOTHING
    above, below = value, 0.0
    for numerator, denominator in steps:
        below = denominator + numerator * below or _NOTHING
        above = denominator + numerator / above or _NOTHING
        below = 1.0 / below
        value *= above * below
        if abs(above * below - 1.0) < _SMALL:
            break
    return value


def _where(chance: Callable[[float], float], density: Callable[[float], float], p: float, top: float) -> float:
    """Where a rising function passes ``p`` between 0 and ``top``: steps of Newton, by its ``density``, as long as they
    stay between what is known to be below and above; else the interval is halved."""
    if not 0.0 < p < 1.0:
        raise ValueError(f"a quantile is that of a probability between 0 and 1, not {p}")
    low, high, x = 0.0, top, top / 2.0
    for _ in range(_HALVINGS):
        off = chance(x) - p
        low, high = (x, high) if off < 0.0 else (low, x)
        slope = density(x)
        step = x - off / slope if slope > 0.0 else low
        nearer = step if low < step < high else (low + high) / 2.0
        if abs(nearer - x) <= _CLOSE * x:
            return nearer
        x = nearer
    return x
