"""Minimal cut sets: the smallest sets of faults that bring an event about on their own.

For a coherent tree (no ``not``) these are the minimal cut sets of NUREG-0492 and IEC 61025. With ``not`` they are
the minimal sets that make the event hold while every other fault is absent, which for a coherent tree is the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

from faulttree.book.model import Book, Event
from faulttree.errors import UnknownName

CutSet = frozenset[str]
Term = tuple[CutSet, CutSet]
"""A product of faults that are present and faults that are absent."""

YES: list[Term] = [(frozenset(), frozenset())]


def minimal_cut_sets(book: Book, name: str) -> list[CutSet]:
    """Minimal cut sets of a fault or event, shortest first, then by name. Raises UnknownName."""
    present = {term[0] for term in _terms(book, name, False, {})}
    minimal = [one for one in present if not any(other < one for other in present)]
    return sorted(minimal, key=lambda one: (len(one), sorted(one)))


def _terms(book: Book, name: str, negated: bool, known: dict[tuple[str, bool], list[Term]]) -> list[Term]:
    """The event (or its opposite) as a sum of products, top down with absorption."""
    key = (name, negated)
    if key not in known:
        if name in book.faults:
            one = frozenset([name])
            known[key] = [(frozenset(), one)] if negated else [(one, frozenset())]
        elif name in book.events:
            known[key] = _of_event(book, book.events[name], negated, known)
        else:
            raise UnknownName(f"the {book.family} book has no fault or event {name!r}")
    return known[key]


def _of_event(book: Book, event: Event, negated: bool, known: dict[tuple[str, bool], list[Term]]) -> list[Term]:
    inverted = event.gate == "not"
    parts = [_terms(book, part, negated != inverted, known) for part in event.of]
    if event.gate == "at_least":
        # Fewer than k of n hold exactly where at least n - k + 1 do not.
        count = len(parts) - event.count + 1 if negated else event.count
        return _sum(_product(chosen) for chosen in combinations(parts, count)) if count > 0 else YES
    # De Morgan: the opposite of an OR is the AND of the opposites, and ``not`` is the opposite of an OR.
    as_and = negated != (event.gate in ("all_of", "not"))
    return _product(parts) if as_and else _sum(parts)


def _sum(parts: Iterable[list[Term]]) -> list[Term]:
    return _absorb(term for part in parts for term in part)


def _product(parts: Iterable[list[Term]]) -> list[Term]:
    result = YES
    for part in parts:
        result = _absorb((one[0] | two[0], one[1] | two[1]) for one in result for two in part)
    return result


def _absorb(terms: Iterable[Term]) -> list[Term]:
    """Without impossible terms, and without those that another term already covers."""
    kept: list[Term] = []
    for term in sorted({t for t in terms if not t[0] & t[1]}, key=lambda t: (len(t[0]) + len(t[1]), sorted(t[0]))):
        if not any(other[0] <= term[0] and other[1] <= term[1] for other in kept):
            kept.append(term)
    return kept
