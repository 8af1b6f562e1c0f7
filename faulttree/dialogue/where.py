"""Where a fault lies: the chains of the book as strips, from the source to the end, each stretch as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from faulttree.book.model import Book
from faulttree.graph.gates import Gates

AT_TAP = "@"
"""Between a chain and its tap in the name of an event."""

FOUND, STRONG, SUSPECT, LITTLE = 0.9, 0.4, 0.1, 0.02
"""From which probability on a stretch stands as found bad, strongly suspect, suspect, a little suspect."""

WORTH_PROVING, FELL_TO = 0.01, 1 / 3
"""A stretch is proved good where it once had so much, and what it has now is less than this part of it."""

WORTH_SHOWING = 0.1
"""A chain is shown where so much lies on it, or the next step looks at it."""


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

    ``now`` and ``at_first`` are the probabilities of the faults as the case stands and by the symptoms alone.
    """
    looked_at = {outcome.when for outcome in book.checks[step].outcomes} if step in book.checks else set()
    found: list[tuple[bool, float, str, Strip]] = []
    for chain, taps in chains(book).items():
        stretches, before, own = [], frozenset[str](), 0.0
        for tap in _with_what_feeds_it(book, taps):
            below = gates.below(tap)
            share = min(sum(now.get(fault, 0.0) for fault in below - before), 1.0)
            was = min(sum(at_first.get(fault, 0.0) for fault in below - before), 1.0)
            words = tap.split(AT_TAP)[-1].replace("-", " ")
            stretches.append(Stretch(words, share, stands(share, was), tap in looked_at))
            before, own = before | below, own + (share if tap in taps else 0.0)
        wanted = any(stretch.next for stretch in stretches)
        if wanted or own >= WORTH_SHOWING:
            # A look in passing at a chain that is hardly suspect must not hide the one that is.
            leads = wanted and own >= WORTH_SHOWING
            found.append((not leads, -own, chain, Strip(_name(book, chain, taps), tuple(stretches))))
    return tuple(strip for *_, strip in sorted(found, key=lambda one: one[:3]))


def chains(book: Book) -> dict[str, list[str]]:
    """The taps of each chain, from its source on."""
    found: dict[str, list[str]] = {}
    for name in book.events:
        chain, _, tap = name.partition(AT_TAP)
        if tap:
            found.setdefault(chain, []).append(name)
    return found


def _with_what_feeds_it(book: Book, taps: list[str]) -> list[str]:
    """The taps of a chain, those of the chain at whose tap it starts before them."""
    feeds = [name for name in book.events[taps[0]].of if AT_TAP in name]
    if not feeds:
        return taps
    feeding = chains(book)[feeds[0].partition(AT_TAP)[0]]
    return [*_with_what_feeds_it(book, feeding[: feeding.index(feeds[0]) + 1]), *taps]


def _name(book: Book, chain: str, taps: list[str]) -> str:
    return book.events[chain].name if chain in book.events else book.events[taps[0]].name.partition(",")[0]


def stands(share: float, was: float) -> str:
    """How a stretch or a cause stands, in one word, by its probability now and by the symptoms alone."""
    for least, word in ((FOUND, "found"), (STRONG, "strong"), (SUSPECT, "suspect"), (LITTLE, "little")):
        if share >= least:
            return word
    return "proved" if was >= WORTH_PROVING and share < FELL_TO * was else "open"
