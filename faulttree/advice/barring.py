"""What was found speaks against conditions: which, and which check can lift that."""

from __future__ import annotations

from collections.abc import Iterable

from faulttree.book.model import Book


def bars(book: Book, shown: Iterable[tuple[str, str]]) -> list[tuple[tuple[str, ...], str]]:
    """Conditions that what checks last showed bars, each time with the check that can lift it.

    ``shown`` is (check, outcome) for each check done, in the order in which they were: a look that came before a
    finding lifts nothing of it.
    """
    outcomes = {name: next(o for o in book.checks[name].outcomes if o.id == outcome) for name, outcome in shown}
    places = {name: place for place, name in enumerate(outcomes)}
    found = []
    for name, told in sorted(outcomes.items()):
        since = [outcomes[check] for check in told.until if places.get(check, -1) > places[name]]
        if told.bars and all(set(told.bars) & set(other.bars) for other in since or [told]):
            found.append((told.bars, told.until[0] if told.until else name))
    return found


def wanted_again(book: Book, check: str, outcome: str) -> tuple[str, ...]:
    """Checks that a finding wants looked at, though they were before it: they alone lift what it bars."""
    told = next(o for o in book.checks[check].outcomes if o.id == outcome)
    return told.until if told.bars else ()
