"""A number has a basis of its own: a counted one says what was counted, an amended one is not left with the old basis.

`shop-history` without the count and the hours cannot be weighed against what the book says. And where an overlay puts
another rate in place of a published one, the source would seem to say what it never said.

Passes::

    faults:
      bus.dead: {amends: true, rate: 0.4, basis: {kind: shop-history, note: 2 in 5000 hours since 2019}}

Fails::

    faults:
      bus.dead: {amends: true, rate: 0.4}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item
from faulttree.book.merge import Entry
from faulttree.book.positions import ERROR, Problem
from faulttree.workshop.subject import Subject

ID = "rate-grounded"
SEVERITY = ERROR

_NUMBERS = (
    "value", "rate", "probability", "intermittent", "legs", "detects", "false_alarm", "matrix", "effective", "typical",
    "promotes", "demotes", "intermittent_faults", "steady_faults", "unlisted", "noticed",
)  # fmt: skip


def check(subject: Subject) -> Iterator[Problem]:
    """Looks at the basis of every entry, and at what overlays amended."""
    for item in subject.written.items():
        yield from _counted(item)
        yield from _amended(item, subject.written.entries[item.section][item.id])


def _counted(item: Item[Any]) -> Iterator[Problem]:
    basis = getattr(item.form, "basis", None)
    if basis is not None and basis.kind == "shop-history" and not (basis.note or basis.where):
        what = f"the shop's history behind {item.noun} `{item.id}` is not told"
        right = "write `basis: {kind: shop-history, note: how many in how many hours, since when}`"
        yield Problem(item.spots.value("basis"), what, right, ID)


def _amended(item: Item[Any], entry: Entry) -> Iterator[Problem]:
    for amendment in entry.amendments:
        numbers = [field for field in _NUMBERS if field in amendment.fields]
        if numbers and "basis" not in amendment.fields and "basis" in amendment.before:
            what = f"`{numbers[0]}` is amended and keeps the basis of the number that it replaces"
            yield Problem(amendment.fields[numbers[0]], what, "add the `basis` of the new number", ID)
