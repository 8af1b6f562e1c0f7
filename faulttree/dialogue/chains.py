"""The chains of a book laid out for the strips: the places of each, and where on them a check looks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.graph.gates import Gates

AT_TAP = "@"
"""Between a chain and its tap in the name of an event."""

LITTLE = 0.02
"""From which probability on a place is a little suspect."""

MUCH, MOST = 0.2, 0.6
"""So much of what a check looks at on a chain lies at the place whose name it bears, or else at one place."""

EXACTLY, BY_FAULTS, NOT_AT_ALL = range(3)
"""How the next step looks at a chain: at a tap by name, at faults that lie there, not."""

NOWHERE: tuple[frozenset[int], int] = frozenset(), NOT_AT_ALL


def chains(book: Book) -> dict[str, list[str]]:
    """The taps of each chain, from its source on."""
    found: dict[str, list[str]] = {}
    for name in book.events:
        chain, _, tap = name.partition(AT_TAP)
        if tap:
            found.setdefault(chain, []).append(name)
    return found


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of a chain: its tap, what the mechanic reads, the faults of which each alone lies there.

    ``feeds`` says that it belongs to the chain at whose tap this one starts.
    """

    tap: str
    words: str
    faults: frozenset[str]
    feeds: bool


@dataclass(frozen=True, slots=True)
class Chain:
    """A chain with what feeds it; ``faults`` are those on it alone."""

    id: str
    name: str
    places: tuple[Place, ...]
    faults: frozenset[str]


@dataclass(frozen=True, slots=True)
class Looks:
    """What a check looks at: taps by name, and for each outcome the faults that alone bring it about.

    ``stretches`` are the faults before those of its taps that are on chains told by another.
    """

    id: str
    kind: str
    leg: str | None
    taps: frozenset[str]
    stretches: tuple[frozenset[str], ...]
    faults: tuple[frozenset[str], ...]
    any_of_them: frozenset[str]

    def at(self, chain: Chain, now: Mapping[str, float]) -> tuple[frozenset[int], int]:
        """Which places of a chain the check looks at, and how."""
        named = frozenset(i for i, place in enumerate(chain.places) if self._names(place))
        if named:
            return named, EXACTLY
        seen = [total(now, place.faults & self.any_of_them) for place in chain.places]
        place = self._place(chain, now, seen) if any(seen) else None
        if place is None:
            return NOWHERE
        leads = sum(seen) >= LITTLE and not chain.places[place].feeds
        return frozenset([place]), BY_FAULTS if leads else NOT_AT_ALL

    def weight(self, chain: Chain, now: Mapping[str, float]) -> float:
        """How much of what the check looks at lies on a chain."""
        return total(now, chain.faults & self.any_of_them)

    def _names(self, place: Place) -> bool:
        return place.tap in self.taps or any(faults <= place.faults for faults in self.stretches)

    def _place(self, chain: Chain, now: Mapping[str, float], seen: list[float]) -> int | None:
        """The place whose name the check bears, or which has most of what a look finds on this chain.

        A test that finds nearly all of it at one place is for that place. Else it is a reading of all up to some place:
        the last one of which the likeliest outcome sees most. One that sees all that is suspect on a chain alike tells
        nothing of the place, save on the leg it belongs to.
        """
        for i, place in enumerate(chain.places):
            if f"-{place.tap.split(AT_TAP)[1]}-" in f"-{self.id}-" and seen[i] >= MUCH * sum(seen):
                return i
        if self.kind == "look":
            return seen.index(max(seen))
        shares = [0.0 if place.feeds else total(now, place.faults) for place in chain.places]
        suspect = [i for i, share in enumerate(shares) if share >= LITTLE]
        if self.leg is None and len(suspect) > 1 and all(2 * seen[i] >= shares[i] for i in suspect):
            return None
        if max(seen) >= MOST * sum(seen):
            return seen.index(max(seen))
        likeliest = max(self.faults, key=lambda faults: total(now, faults & chain.faults))
        covered = [i for i in suspect if 2 * total(now, chain.places[i].faults & likeliest) >= shares[i]]
        up_to_there = covered == suspect[: len(covered)]
        return covered[-1] if covered and (up_to_there or self.leg is not None) else None


class Layout:
    """The chains of a book and what its checks look at, worked out once. Holds no gates, whose cache it lies in.

    Where another chain tells more of the same places, only that one is shown, with what names a tap of the other.
    """

    def __init__(self, book: Book, gates: Gates) -> None:
        taps = chains(book)
        outcomes = (o.when for check in book.checks.values() for o in check.outcomes)
        names = {when for when in outcomes if when not in (None, THE_SQUAWK)}
        self._alone = _alone(book, gates, sorted(names.union(*taps.values())))
        legs = {leg for component in book.components.values() for leg in component.legs}
        every = [self._chain(book, gates, chain, taps, legs) for chain in taps]
        # One that is empty, as nothing of it is fitted, is part of any other.
        self.chains = tuple(one for one in every if not any(one.faults < other.faults for other in every))
        parts = [one for one in every if one not in self.chains]
        self._stands_for = {place.tap: place.faults for one in parts for place in one.places if not place.feeds}
        self._ends = {one.id: one.places[-1].tap for one in every if one.places}
        self._looks: dict[str, Looks] = {}

    def _chain(self, book: Book, gates: Gates, chain: str, taps: Mapping[str, list[str]], legs: set[str]) -> Chain:
        places: list[Place] = []
        before, leg = frozenset[str](), chain.rpartition("-")[2]
        for tap in _with_what_feeds_it(book, chain, taps):
            below, words = gates.below(tap), tap.split(AT_TAP)[-1].replace("-", " ")
            if below - before:  # What is not fitted has no place.
                feeds = tap not in taps[chain]
                if leg in legs and not feeds and (not places or places[-1].feeds):
                    words = f"{leg} {words}"
                places.append(Place(tap, words, self._alone[tap] - before, feeds))
            before |= below
        own = frozenset[str]().union(*(place.faults for place in places if not place.feeds))
        return Chain(chain, _name(book, chain, taps[chain]), tuple(places), own)

    def looks(self, check: Check) -> Looks:
        """What ``check`` looks at. A question looks at nothing but the taps it names."""
        if check.id not in self._looks:
            whens = [o.when for o in check.outcomes if o.when is not None and o.when != THE_SQUAWK]
            faults = () if check.kind == "ask" else tuple(self._alone[when] for when in whens)
            taps = frozenset(self._ends.get(when, when) for when in whens)
            stands_for = tuple(self._stands_for[tap] for tap in taps if self._stands_for.get(tap))
            any_of_them = frozenset[str]().union(*faults)
            self._looks[check.id] = Looks(check.id, check.kind, check.leg, taps, stands_for, faults, any_of_them)
        return self._looks[check.id]


_LAYOUTS: WeakKeyDictionary[Gates, Layout] = WeakKeyDictionary()


def layout(book: Book, gates: Gates) -> Layout:
    """The chains of a book, laid out the first time that these gates ask."""
    if gates not in _LAYOUTS:
        _LAYOUTS[gates] = Layout(book, gates)
    return _LAYOUTS[gates]


def _alone(book: Book, gates: Gates, names: list[str]) -> dict[str, frozenset[str]]:
    """For each of ``names`` the faults of which one alone makes it hold.

    A leg's brace lies below "no leg arms the horn", and yet nobody looks for it in the horn.
    """
    faults = list(book.faults)
    one_each = np.packbits(np.eye(len(faults), len(faults) + 1, dtype=np.uint8), axis=1)
    found = {}
    for name, packed in gates.truth(names, faults, one_each).items():
        *holds, with_none = np.unpackbits(packed, count=len(faults) + 1)
        found[name] = frozenset() if with_none else frozenset(f for f, held in zip(faults, holds, strict=True) if held)
    return found


def _with_what_feeds_it(book: Book, chain: str, taps: Mapping[str, list[str]]) -> list[str]:
    """The taps of a chain, those of the chain at whose tap it starts before them."""
    feeds = [name for name in book.events[taps[chain][0]].of if AT_TAP in name]
    if not feeds:
        return taps[chain]
    feeding = feeds[0].partition(AT_TAP)[0]
    with_its_own = _with_what_feeds_it(book, feeding, taps)
    return [*with_its_own[: with_its_own.index(feeds[0]) + 1], *taps[chain]]


def _name(book: Book, chain: str, taps: list[str]) -> str:
    return book.events[chain].name if chain in book.events else book.events[taps[0]].name.partition(",")[0]


def total(probabilities: Mapping[str, float], faults: Iterable[str]) -> float:
    """The probabilities of these faults together."""
    return sum(probabilities.get(fault, 0.0) for fault in faults)
