"""Where a fault lies: the chains of the book as strips, from the source to the end, each stretch as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from faulttree.book.model import Book
from faulttree.dialogue.chains import EXACTLY, LITTLE, NOT_AT_ALL, NOWHERE, Chain, layout, total
from faulttree.graph.gates import Gates

FOUND, STRONG, SUSPECT = 0.9, 0.4, 0.1
"""From which probability on a stretch stands as found bad, strongly suspect, suspect."""

WORTH_PROVING, FELL_TO = 0.01, 1 / 3
"""A stretch is ruled out where it once had so much, and what it has now is less than this part of it."""

WORTH_SHOWING = 0.1
"""A chain is shown where so much lies on it that no strip above it shows, or the next step looks at a tap of it."""

LONG, VERY_LONG = 6, 8
"""A strip of more stretches leaves out those that only feed it and tell nothing; a chain that has more, its own too."""


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

    ``now`` and ``at_first`` are the probabilities of the faults as the case stands and by what was told. What
    strips above show of a chain is left out, and so is a chain of which they show all that is suspect. Where the next
    step looks at none of them, the chain that it does look at comes last.
    """
    laid_out = layout(book, gates)
    looks = laid_out.looks(book.checks[step]) if step in book.checks else None
    seen = [looks.weight(chain, now) if looks is not None else 0.0 for chain in laid_out.chains]
    ranked, passing = [], []
    for chain, weight in zip(laid_out.chains, seen, strict=True):
        shares = [min(total(now, place.faults), 1.0) for place in chain.places]
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
        if named or total(now, chain.faults - shown) >= WORTH_SHOWING:
            found.append(Strip(chain.name, tuple(_stretches(chain, shares, at_first, marked, shown))))
            shown.update(*(place.faults for place in chain.places))
    if passing and not any(stretch.next for strip in found for stretch in strip.stretches):
        *_, chain, shares, marked = max(passing, key=lambda one: one[:2])
        found.append(Strip(chain.name, tuple(_stretches(chain, shares, at_first, marked, shown))))
    return tuple(found)


def _stretches(
    chain: Chain, shares: list[float], at_first: Mapping[str, float], marked: Iterable[int], shown: set[str]
) -> Iterable[Stretch]:
    """A chain as it stands. Of what feeds it the last stretch is always there, so that one sees where it starts."""
    last = len(chain.places) - 1
    own = sum(not place.feeds for place in chain.places)
    for i, (place, share) in enumerate(zip(chain.places, shares, strict=True)):
        was = min(total(at_first, place.faults), 1.0)
        how = stands(share, was)
        is_next = i in marked and not (place.feeds and place.faults <= shown)
        if place.feeds:
            there = not chain.places[i + 1].feeds or not (
                place.faults <= shown or (how == "open" and len(chain.places) > LONG)
            )
        else:
            there = i in (0, last) or how != "open" or own <= VERY_LONG
        if there or is_next:
            yield Stretch(place.words, share, how, is_next)


def stands(share: float, was: float) -> str:
    """How a stretch or a cause stands, in one word, by its probability now and by what was told alone.

    What the pilot tells makes a thing strongly suspect at most: found bad it is by hand.
    """
    if share >= FOUND and was >= FOUND:
        return "strong"
    for least, word in ((FOUND, "found"), (STRONG, "strong"), (SUSPECT, "suspect"), (LITTLE, "little")):
        if share >= least:
            return word
    return "proved" if was >= WORTH_PROVING and share < FELL_TO * was else "open"
