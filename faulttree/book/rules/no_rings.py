"""Nothing is explained by itself, and no check comes before itself.

Events, chains and symptoms that name each other in a circle have no meaning; checks that must come after
each other can never be begun.

Passes::

    events:
      bus-gone: {amends: true, any_of: [bus.dead]}

Fails::

    events:
      bus-gone: {amends: true, any_of: [bus.dead, no-current]}
      no-current: {name: No current, any_of: [bus-gone]}
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from faulttree.book.expand import Draft
from faulttree.book.items import Item
from faulttree.book.positions import Problem
from faulttree.book.rings import rings, shown

ID = "no-rings"


def check(draft: Draft) -> Iterator[Problem]:
    """Looks for circles among events and among what checks come after; each is shown link by link."""
    events = {name: event.of for name, event in draft.book.events.items()}
    inner = {name: [of for of in members if of in events] for name, members in events.items()}
    yield from _problems(inner, draft.events.origin, draft.events.said, "explained by itself")
    after = {name: one.after for name, one in draft.book.checks.items()}
    origin = {name: item for (section, name), item in draft.origin.items() if section == "checks"}
    said = {name: item.id for name, item in origin.items()}
    yield from _problems(after, origin, said, "to come after itself")


def _problems(
    graph: Mapping[str, Any], origin: Mapping[str, Item[Any]], said: Mapping[str, str], how: str
) -> Iterator[Problem]:
    for ring in rings(graph):
        words = [said[name] for name in ring]
        first = origin[ring[words.index(min(words))]]
        what = f"`{min(words)}` is {how}: {shown(words)}"
        yield Problem(first.spots.key(), what, "break the circle at one of its links", ID)
