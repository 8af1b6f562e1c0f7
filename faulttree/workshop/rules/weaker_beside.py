"""A check or repair that an overlay puts beside one of the book is for the same and does not show less.

The quicker of two that do the same is proposed first. Where it needs no jacks and names no caution, nobody reads what
the other one would have shown. Whether the new way is safe without them no program can tell; so it is told.

Passes::

    actions:
      oil-lock-twice:
        name: Oil the lock twice
        minutes: 12
        needs: [on-jacks]
        each_leg: true
        follow_up: [look-at-lock]
        basis: estimate
    faults:
      lock.dry: {amends: true, corrected_by: [oil-lock, oil-lock-twice]}

Fails::

    actions:
      oil-lock-from-afar: {name: Oil the lock from afar, minutes: 2, each_leg: true, basis: estimate}
    faults:
      lock.dry: {amends: true, corrected_by: [oil-lock, oil-lock-from-afar]}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Entry
from faulttree.book.positions import ADVICE, Problem
from faulttree.book.rules.cautions_kept import of_conditions
from faulttree.book.sections import noun
from faulttree.book.standins import finds, half, is_gone
from faulttree.workshop.subject import Subject

ID = "weaker-beside"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Holds what overlays add against what the layers below have for the same."""
    written, below = subject.written, Below(subject.written)
    for section in ("checks", "actions"):
        for item in written.ids(section).values():
            entry = written.entries[section][item.id]
            for other in written.ids(section).values() if entry.layer and entry.data.get("kind") != "ask" else ():
                old = written.entries[section][other.id]
                if old.layer < entry.layer and not is_gone(written, old) and _alike(written, entry, old, below):
                    yield from _less(written, item, other)


def _alike(written: Written, entry: Entry, old: Entry, below: Below) -> bool:
    if entry.section == "checks":
        return half(finds(old.data, below), finds(entry.data, below))
    mended = (fault.form.corrected_by for fault in written.faults.values())
    return any(entry.id in names and old.id in names for names in mended)


def _less(written: Written, item: Item[Any], other: Item[Any]) -> Iterator[Problem]:
    less = sorted(_shown(written, other) - _shown(written, item))
    if less:
        what = f"{item.noun} `{item.id}` is for the same as {noun(other.section)} `{other.id}` and shows less than that"
        yield Problem(item.spots.key(), what, f"add to its `cautions` what it wants of: {', '.join(less)}", ID)


def _shown(written: Written, item: Item[Any]) -> set[str]:
    return {*item.form.cautions, *of_conditions(written, item.form.needs)}
