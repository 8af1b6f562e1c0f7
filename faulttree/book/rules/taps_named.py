"""The taps of a chain have names of their own, and its last element has one.

A tap is where a mechanic puts a meter or a gauge; "dead by here" must mean one place.

Passes::

    chains:
      feed: {amends: true, elements: [{faults: [bus.dead], tap: bus}, {faults: [lock.dry], tap: lock}]}

Fails::

    chains:
      feed: {amends: true, elements: [{faults: [bus.dead], tap: bus}, {faults: [lock.dry], tap: bus}]}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem

ID = "taps-named"


def check(written: Written) -> Iterator[Problem]:
    """Looks at the elements of every chain."""
    for item in written.chains.values():
        yield from _check(item)


def _check(item: Item[Any]) -> Iterator[Problem]:
    seen: set[str] = set()
    for index, element in enumerate(item.form.elements):
        if element.tap in seen:
            where = item.spots.value("elements", index, "tap")
            yield Problem(where, f"`{element.tap}` is a tap of this chain already", "give it another name", ID)
        elif element.tap is not None:
            seen.add(element.tap)
    if item.form.elements[-1].tap is None:
        where = item.spots.value("elements", len(item.form.elements) - 1)
        yield Problem(where, "the last element has no tap", "add `tap: …`", ID)
