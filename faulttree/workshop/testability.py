"""How well the checks of a book tell its faults apart, in the terms of IEEE 1522 and MIL-HDBK-2165 (from memory).

Each fault is taken alone and awake. Two faults are apart when the true outcome of some check differs; those that no
check tells apart form an ambiguity group. Every figure is weighted by rate, so that a common fault counts for more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.errors import UnknownName
from faulttree.graph.gates import Gates

SMALL = 3


@dataclass(frozen=True, slots=True)
class Testability:
    """``detected`` is the share of the rate that some check shows; ``isolated`` and ``nearly`` the shares of the
    detected rate in ambiguity groups of one, and of up to three; ``mean_group`` the size of the group of a fault met
    at random. ``groups`` are those of more than one fault, the heaviest first; ``undetected`` what no check shows."""

    faults: int
    detected: float
    isolated: float
    nearly: float
    mean_group: float
    groups: tuple[tuple[str, ...], ...]
    undetected: tuple[str, ...]


def testability(book: Book) -> Testability:
    """The figures of a book at its options. A proof, which asks for the squawk as a whole, tells no faults apart."""
    return _figures(book, list(book.faults))


def of_symptom(book: Book, symptom: str) -> Testability:
    """The same of the faults that can reach one symptom. Raises UnknownName."""
    if symptom not in book.symptoms:
        raise UnknownName(f"the {book.family} book has no symptom {symptom!r}")
    below = Gates(book).below(book.symptoms[symptom].when)
    return _figures(book, [fault for fault in book.faults if fault in below])


def _figures(book: Book, faults: Sequence[str]) -> Testability:
    rates = weights(book)
    shown = outcomes_alone(book, faults)
    groups: dict[bytes, list[str]] = {}
    for row, fault in enumerate(faults):
        groups.setdefault(shown[row].tobytes(), []).append(fault)
    sound = shown[-1].tobytes()
    missed = groups.pop(sound, [])
    total, seen = sum(rates[f] for f in faults), sum(rates[f] for group in groups.values() for f in group)
    by_size = [(len(group), sum(rates[f] for f in group)) for group in groups.values()]
    several = sorted((g for g in groups.values() if len(g) > 1), key=lambda g: -sum(rates[f] for f in g))
    return Testability(
        faults=len(faults),
        detected=seen / total if total else 0.0,
        isolated=sum(rate for size, rate in by_size if size == 1) / seen if seen else 0.0,
        nearly=sum(rate for size, rate in by_size if size <= SMALL) / seen if seen else 0.0,
        mean_group=sum(size * rate for size, rate in by_size) / seen if seen else 0.0,
        groups=tuple(tuple(group) for group in several),
        undetected=tuple(missed),
    )


def weights(book: Book) -> Mapping[str, float]:
    """What each fault counts for: its rate; of a plain probability the rate with the same chance in the usual hours."""
    hours = book.defaults.hours
    return {
        fault.id: fault.rate
        if fault.rate is not None
        else float(-np.log1p(-min(fault.probability or 0.0, 1.0 - 1e-9)) * 1000.0 / hours)
        for fault in book.faults.values()
    }


def telling(book: Book) -> list[Check]:
    """The checks that tell faults apart: all but the proofs, which ask for the squawk as a whole."""
    return [c for c in book.checks.values() if all(o.when != THE_SQUAWK for o in c.outcomes)]


def outcomes_alone(book: Book, faults: Sequence[str], checks: Sequence[Check] | None = None) -> np.ndarray:
    """Places of the true outcomes where each fault stands alone, (n_faults + 1, n_checks); the last row is sound.

    Without ``checks`` all that tell faults apart.
    """
    checks = telling(book) if checks is None else checks
    holds = holding_alone(book, faults, [o.when for check in checks for o in check.outcomes if o.when])
    found = np.empty((len(faults) + 1, len(checks)), dtype=np.int16)
    for column, check in enumerate(checks):
        found[:, column] = len(check.outcomes) - 1
        for place in range(len(check.outcomes) - 2, -1, -1):
            when = check.outcomes[place].when
            if when:
                found[holds[when], column] = place
    return found


def holding_alone(book: Book, faults: Sequence[str], events: Iterable[str]) -> dict[str, np.ndarray]:
    """For each event where it holds, (n_faults + 1,): with each fault alone, then with none."""
    count = len(faults) + 1
    presence = np.packbits(np.eye(len(faults), count, dtype=np.bool_), axis=1)
    packed = Gates(book).truth(list(dict.fromkeys(events)), list(faults), presence)
    return {name: np.unpackbits(bits)[:count].astype(np.bool_) for name, bits in packed.items()}
