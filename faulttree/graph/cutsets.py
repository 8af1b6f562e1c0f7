"""Minimal cut sets: the smallest sets of faults that bring an event about on their own.

In a coherent tree (one without ``not``) these are the minimal cut sets of NUREG-0492 and IEC 61025, and at the same
time its prime implicants. With ``not`` a further fault can undo an event. What is returned then are the minimal sets
that make it hold while every other fault is absent: the smallest of the positive parts of its prime implicants, which
say in full which faults must be absent as well. An event that holds in a sound gear has the empty set alone.

Each event is written as a sum of products, from the faults upwards, and what another product covers is dropped at
once. The number of products can grow without bound in the depth of a tree that keeps multiplying sums; ``largest``
holds it down.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from faulttree.book.model import Book, Event
from faulttree.graph.gates import Gates

CutSet = frozenset[str]
Term = tuple[int, int]
"""A product: the bits of the faults that are present in it, and of those that are absent."""

ALWAYS: list[Term] = [(0, 0)]


def minimal_cut_sets(book: Book, name: str, largest: int | None = None) -> list[CutSet]:
    """Minimal cut sets of a fault or event, shortest first, then by name.

    With ``largest``, sets of more faults than that are left out; those returned are still minimal and all there are
    of their sizes. Raises UnknownName.
    """
    faults = sorted(Gates(book).below(name))
    present = {term[0] for term in _Sums(book, faults, largest).of(name)}
    minimal = [term[0] for term in _absorb((bits, 0) for bits in present)]
    found = [frozenset(fault for place, fault in enumerate(faults) if bits >> place & 1) for bits in minimal]
    return sorted(found, key=lambda one: (len(one), sorted(one)))


class _Sums:
    """Events, and their opposites where a ``not`` asks for them, as sums of products."""

    def __init__(self, book: Book, faults: Sequence[str], largest: int | None) -> None:
        self._book = book
        self._largest = len(faults) if largest is None else largest
        self._known: dict[tuple[str, bool], list[Term]] = {}
        for place, fault in enumerate(faults):
            self._known[fault, True] = self._kept([(1 << place, 0)])
            self._known[fault, False] = [(0, 1 << place)]

    def of(self, top: str) -> list[Term]:
        for name, wanted in self._order(top):
            self._known[name, wanted] = self._event(self._book.events[name], wanted)
        return self._known[top, True]

    def _order(self, top: str) -> list[tuple[str, bool]]:
        """Which events are wanted, and which of their opposites, each after what it is made of."""
        events = Gates(self._book).events_at([top])
        wanted = {(top, True)}
        for name in reversed(events):
            event = self._book.events[name]
            for sign in (True, False):
                if (name, sign) in wanted:
                    wanted.update((part, sign != (event.gate == "not")) for part in event.of)
        return [(name, sign) for name in events for sign in (True, False) if (name, sign) in wanted]

    def _event(self, event: Event, wanted: bool) -> list[Term]:
        # De Morgan: the opposite of an OR is the AND of the opposites. ``not`` is the opposite of an OR to begin with.
        parts = [self._known[part, wanted != (event.gate == "not")] for part in event.of]
        as_all = wanted == (event.gate in ("all_of", "not"))
        if event.gate != "at_least":
            return self._at_least(len(parts) if as_all else 1, parts)
        # Fewer than k of n hold exactly where at least n - k + 1 do not.
        return self._at_least(event.count if wanted else len(parts) - event.count + 1, parts)

    def _at_least(self, count: int, parts: Sequence[list[Term]]) -> list[Term]:
        """At least ``count`` of ``parts``; ``reached[i]`` is the sum for i of those seen so far."""
        if count == 1:
            return self._kept(term for part in parts for term in part)
        reached: list[list[Term]] = [ALWAYS] + [[] for _ in range(count)]
        for seen, part in enumerate(parts, 1):
            # What can no longer come to ``count`` with the parts that are left need not be worked out.
            for i in range(min(count, seen), max(0, count - len(parts) + seen - 1), -1):
                product = [(a | c, b | d) for a, b in reached[i - 1] for c, d in part]
                reached[i] = self._kept([*reached[i], *product])
        return reached[max(0, count)]

    def _kept(self, terms: Iterable[Term]) -> list[Term]:
        return _absorb(t for t in terms if not t[0] & t[1] and t[0].bit_count() <= self._largest)


def _absorb(terms: Iterable[Term]) -> list[Term]:
    """Without the terms that another, shorter one covers."""
    in_order = sorted(set(terms), key=lambda t: t[0].bit_count() + t[1].bit_count())
    if in_order[:1] == ALWAYS:
        return ALWAYS
    present = absent = 0  # the faults of terms of one fault, which most terms of a gear are
    single: list[Term] = []
    longer: list[Term] = []
    for term in in_order:
        if term[0] & present or term[1] & absent:
            continue
        if term[0].bit_count() + term[1].bit_count() == 1:
            present, absent = present | term[0], absent | term[1]
            single.append(term)
        elif not any(a & term[0] == a and b & term[1] == b for a, b in longer):
            longer.append(term)
    return single + longer
