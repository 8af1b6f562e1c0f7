"""What was found speaks against conditions: which, and which check can lift that."""

from __future__ import annotations

from collections.abc import Iterable

from faulttree.book.model import Book


def bars(book: Book, shown: Iterable[tuple[str, str]]) -> list[tuple[tuple[str, ...], str]]:
    """Conditions that what checks last showed bars, each time with the check that can lift it.

    ``shown`` is (check, outcome) for each check done.
    """
    outcomes = {name: next(o for o in book.checks[name].outcomes if o.id == outcome) for name, outcome in sorted(shown)}
    found = []
    for name, told in outcomes.items():
        since = [outcomes[check] for check in told.until if check in outcomes]
        if told.bars and all(set(told.bars) & set(other.bars) for other in since or [told]):
            found.append((told.bars, told.until[0] if told.until else name))
    return found
