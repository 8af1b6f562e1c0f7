"""What is made of an entry at some options serves at all others where nothing that it asked for is different.

A book is looked at with a score of options, each of which touches a few entries; the others come out the same.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.model import Event
from faulttree.book.positions import Problem

Key = tuple[str, str]
"""Section and id of an entry."""


@dataclass(slots=True)
class Copy:
    """What was ``made`` of an entry, and what came of it on the way.

    ``asked`` tells which entries that only some aircraft have were asked for, and whether they were there; ``events``
    those that were entered, each with its entry and the written name; ``problems`` those that were found.
    """

    made: Any = None
    asked: dict[Key, bool] = field(default_factory=dict)
    events: list[tuple[Event, Item[Any], str]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


class Copies:
    """What was made so far of the entries of one family, at whatever options."""

    def __init__(self, written: Written) -> None:
        self.optional = frozenset(_optional(written))
        self._known: dict[Hashable, list[Copy]] = {}

    def of(self, key: Hashable) -> list[Copy]:
        """All that was made under a key: one for each way in which what it asks for is there or not."""
        return self._known.setdefault(key, [])


def _optional(written: Written) -> Iterator[Key]:
    """The entries that only some aircraft have, a fault with its component."""
    parts = {item.id for item in written.components.values() if item.fitted}
    for item in written.items():
        if item.fitted or (item.section == "faults" and item.id.split(".", 1)[0] in parts):
            yield item.section, item.id
