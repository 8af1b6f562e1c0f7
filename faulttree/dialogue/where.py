"""Where a fault lies: the chains of the book as strips, from the source to the end, each stretch as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.graph.gates import Gates

AT_TAP = "@"
"""Between a chain and its tap in the name of an event."""

FOUND, STRONG, SUSPECT, LITTLE = 0.9, 0.4, 0.1, 0.02
"""From which probability on a stretch stands as found bad, strongly suspect, suspect, a little suspect."""

WORTH_PROVING, FELL_TO = 0.01, 1 / 3
"""A stretch is proved good where it once had so much, and what it has now is less than this part of it."""

WORTH_SHOWING = 0.1
"""A chain is shown where so much lies on it that no strip above it shows, or the next step looks at a tap of it."""

LONG, VERY_LONG = 6, 8
"""A strip of more stretches leaves out those that only feed it and tell nothing; a chain that has more, its own too."""

MUCH, MOST = 0.2, 0.6
"""So much of what a check looks at on a chain lies at the place whose name it bears, or else at one place."""

EXACTLY, BY_FAULTS, NOT_AT_ALL = range(3)
"""How the next step looks at a chain: at a tap by name, at faults that lie there, not."""

NOWHERE: tuple[frozenset[int], int] = frozenset(), NOT_AT_ALL


@dataclass(frozen=True, slots=True)
class Stretch:
    """What lies before a ``tap`` and behind the one before it.

    ``stands`` is ``found``, ``strong``, ``suspect``, ``little``, ``open`` (hardly suspect, and never was) or
    ``proved``; ``next`` whether the next step looks at this tap.
    """

    tap: str
    share: float
    stands: str
    next: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """One chain from its source to its end."""

    name: str
    stretches: tuple[Stretch, ...]


def strips(
    book: Book, gates: Gates, now: Mapping[str, float], at_first: Mapping[str, float], step: str = ""
) -> tuple[Strip, ...]:
    """The chains on which something lies: a suspect one that the next step looks at, then the most suspect.

    ``now`` and ``at_first`` are the probabilities of the faults as the case stands and by the symptoms alone. What
    strips above show of a chain is left out, and so is a chain of which they show all that is suspect. Where the next
    step looks at none of them, the chain that it does look at comes last.
    """
    layout = _layout(book, gates)
    looks = layout.looks(book.checks[step]) if step in book.checks else None
    seen = [looks.weight(chain, now) if looks is not None else 0.0 for chain in layout.chains]
    ranked, passing = [], []
    for chain, weight in zip(layout.chains, seen, strict=True):
        shares = [min(_sum(now, place.faults), 1.0) for place in chain.places]
        own = sum(share for share, place in zip(shares, chain.places, strict=True) if not place.feeds)
        marked, how = looks.at(chain, now) if looks is not None else NOWHERE
        if how != EXACTLY and weight < max(seen) / 2:
            marked, how = NOWHERE  # What it looks at lies for the most part elsewhere.
        if own < WORTH_SHOWING and how != EXACTLY and any(not chain.places[i].feeds for i in marked):
            passing.append((own, chain.id, chain, shares, marked))
        elif how == EXACTLY or own >= WORTH_SHOWING:
            # A look in passing at a chain that is hardly suspect must not hide the one that is.
            ranked.append((how if own >= WORTH_SHOWING else NOT_AT_ALL, -own, chain.id, how, chain, shares, marked))
    found, shown = [], set[str]()
    for *_, how, chain, shares, marked in sorted(ranked, key=lambda one: one[:3]):
        named = how == EXACTLY and any(not chain.places[i].faults <= shown for i in marked)
        if named or _sum(now, chain.faults - shown) >= WORTH_SHOWING:
            found.append(Strip(chain.name, tuple(_stretches(chain, shares, at_first, marked, shown))))
            shown.update(*(place.faults for place in chain.places))
    if passing and not any(stretch.next for strip in found for stretch in strip.stretches):
        *_, chain, shares, marked = max(passing, key=lambda one: one[:2])
        found.append(Strip(chain.name, tuple(_stretches(chain, shares, at_first, marked, shown))))
    return tuple(found)


def chains(book: Book) -> dict[str, list[str]]:
    """The taps of each chain, from its source on."""
    found: dict[str, list[str]] = {}
    for name in book.events:
        chain, _, tap = name.partition(AT_TAP)
        if tap:
            found.setdefault(chain, []).append(name)
    return found


@dataclass(frozen=True, slots=True)
class _Place:
    """A stretch of a chain: its tap, what the mechanic reads, the faults of which each alone lies there.

    ``feeds`` says that it belongs to the chain at whose tap this one starts.
    """

    tap: str
    words: str
    faults: frozenset[str]
    feeds: bool


@dataclass(frozen=True, slots=True)
class _Chain:
    """A chain with what feeds it; ``faults`` are those on it alone."""

    id: str
    name: str
    places: tuple[_Place, ...]
    faults: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Looks:
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

    def at(self, chain: _Chain, now: Mapping[str, float]) -> tuple[frozenset[int], int]:
        """Which places of a chain the check looks at, and how."""
        named = frozenset(i for i, place in enumerate(chain.places) if self._names(place))
        if named:
            return named, EXACTLY
        seen = [_sum(now, place.faults & self.any_of_them) for place in chain.places]
        place = self._place(chain, now, seen) if any(seen) else None
        if place is None:
            return NOWHERE
        leads = sum(seen) >= LITTLE and not chain.places[place].feeds
        return frozenset([place]), BY_FAULTS if leads else NOT_AT_ALL

    def weight(self, chain: _Chain, now: Mapping[str, float]) -> float:
        """How much of what the check looks at lies on a chain."""
        return _sum(now, chain.faults & self.any_of_them)

    def _names(self, place: _Place) -> bool:
        return place.tap in self.taps or any(faults <= place.faults for faults in self.stretches)

    def _place(self, chain: _Chain, now: Mapping[str, float], seen: list[float]) -> int | None:
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
        shares = [0.0 if place.feeds else _sum(now, place.faults) for place in chain.places]
        suspect = [i for i, share in enumerate(shares) if share >= LITTLE]
        if self.leg is None and len(suspect) > 1 and all(2 * seen[i] >= shares[i] for i in suspect):
            return None
        if max(seen) >= MOST * sum(seen):
            return seen.index(max(seen))
        likeliest = max(self.faults, key=lambda faults: _sum(now, faults & chain.faults))
        covered = [i for i in suspect if 2 * _sum(now, chain.places[i].faults & likeliest) >= shares[i]]
        up_to_there = covered == suspect[: len(covered)]
        return covered[-1] if covered and (up_to_there or self.leg is not None) else None


class _Layout:
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
        self._looks: dict[str, _Looks] = {}

    def _chain(self, book: Book, gates: Gates, chain: str, taps: Mapping[str, list[str]], legs: set[str]) -> _Chain:
        places: list[_Place] = []
        before, leg = frozenset[str](), chain.rpartition("-")[2]
        for tap in _with_what_feeds_it(book, chain, taps):
            below, words = gates.below(tap), tap.split(AT_TAP)[-1].replace("-", " ")
            if below - before:  # What is not fitted has no place.
                feeds = tap not in taps[chain]
                if leg in legs and not feeds and (not places or places[-1].feeds):
                    words = f"{leg} {words}"
                places.append(_Place(tap, words, self._alone[tap] - before, feeds))
            before |= below
        own = frozenset[str]().union(*(place.faults for place in places if not place.feeds))
        return _Chain(chain, _name(book, chain, taps[chain]), tuple(places), own)

    def looks(self, check: Check) -> _Looks:
        """What ``check`` looks at. A question looks at nothing but the taps it names."""
        if check.id not in self._looks:
            whens = [o.when for o in check.outcomes if o.when is not None and o.when != THE_SQUAWK]
            faults = () if check.kind == "ask" else tuple(self._alone[when] for when in whens)
            taps = frozenset(self._ends.get(when, when) for when in whens)
            stands_for = tuple(self._stands_for[tap] for tap in taps if self._stands_for.get(tap))
            any_of_them = frozenset[str]().union(*faults)
            self._looks[check.id] = _Looks(check.id, check.kind, check.leg, taps, stands_for, faults, any_of_them)
        return self._looks[check.id]


_LAYOUTS: WeakKeyDictionary[Gates, _Layout] = WeakKeyDictionary()


def _layout(book: Book, gates: Gates) -> _Layout:
    if gates not in _LAYOUTS:
        _LAYOUTS[gates] = _Layout(book, gates)
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


def _stretches(
    chain: _Chain, shares: list[float], at_first: Mapping[str, float], marked: Iterable[int], shown: set[str]
) -> Iterable[Stretch]:
    """A chain as it stands. Of what feeds it the last stretch is always there, so that one sees where it starts."""
    last = len(chain.places) - 1
    own = sum(not place.feeds for place in chain.places)
    for i, (place, share) in enumerate(zip(chain.places, shares, strict=True)):
        was = min(_sum(at_first, place.faults), 1.0)
        stands = _stands(share, was)
        is_next = i in marked and not (place.feeds and place.faults <= shown)
        if place.feeds:
            there = not chain.places[i + 1].feeds or not (
                place.faults <= shown or (stands == "open" and len(chain.places) > LONG)
            )
        else:
            there = i in (0, last) or stands != "open" or own <= VERY_LONG
        if there or is_next:
            yield Stretch(place.words, share, stands, is_next)


def _sum(probabilities: Mapping[str, float], faults: Iterable[str]) -> float:
    return sum(probabilities.get(fault, 0.0) for fault in faults)


def _name(book: Book, chain: str, taps: list[str]) -> str:
    return book.events[chain].name if chain in book.events else book.events[taps[0]].name.partition(",")[0]


def _stands(share: float, was: float) -> str:
    for least, stands in ((FOUND, "found"), (STRONG, "strong"), (SUSPECT, "suspect"), (LITTLE, "little")):
        if share >= least:
            return stands
    return "proved" if was >= WORTH_PROVING and share < FELL_TO * was else "open"
