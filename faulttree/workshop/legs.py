"""Entries that are the same on each leg, and their words for whichever leg was noted."""

from __future__ import annotations

import re
from collections.abc import Sequence

from faulttree.advice.floor import Floor
from faulttree.book.legs import without_leg
from faulttree.book.model import Action, Book, Check

NOTED = "noted"
"""Stands in the words for the leg; ids that stand for the entry of whichever leg end in it too."""


def alike(book: Book, items: Sequence[Check | Action], floor: Floor) -> dict[str, dict[str, int]]:
    """Places of the entries of several legs by their common id and leg, where they differ in nothing but the leg."""
    found: dict[str, dict[str, int]] = {}
    for place, item in enumerate(items):
        if item.leg is not None:
            found.setdefault(any_leg_id(item.id), {})[item.leg] = place
    return {
        name: places for name, places in found.items()
        if len(places) > 1 and len({_shape(book, items[place], floor) for place in places.values()}) == 1
    }  # fmt: skip


def any_leg_id(name: str) -> str:
    """The id for whichever leg; the id itself where it has none."""
    base, leg = without_leg(name)
    return name if leg is None else f"{base}-{NOTED}"


def any_leg_words(text: str, leg: str | None) -> str:
    """A text of one leg for whichever leg was noted."""
    return text if leg is None else re.sub(rf"\b{leg}\b", NOTED, text, flags=re.IGNORECASE)


def any_leg_all(texts: Sequence[str], leg: str | None) -> list[str]:
    """The same for several texts."""
    return [any_leg_words(text, leg) for text in texts]


Telling = tuple[object, ...]


def telling(item: Check | Action) -> Telling:
    """What is told of how an entry is done and what it may show, the same for all legs."""
    how = any_leg_all(item.how, item.leg)
    if isinstance(item, Action):
        return ("act", *(how or [item.name]))
    # Where nothing tells how, the question does.
    words = how or [any_leg_words(item.ask or item.name, item.leg)]
    return (item.kind, *words, *((o.label, frozenset(o.bars)) for o in item.outcomes))


def _shape(book: Book, item: Check | Action, floor: Floor) -> tuple[object, ...]:
    leg = item.leg
    same: list[object] = [
        any_leg_words(item.name, leg), *any_leg_all(item.how, leg), frozenset(item.needs), item.minutes, item.people,
        tuple(item.equipment),
    ]  # fmt: skip
    if isinstance(item, Check):
        same += [any_leg_words(item.ask or "", leg), *((o.id, o.label, frozenset(o.bars)) for o in item.outcomes)]
        same.append(None if item.reading is None else any_leg_id(item.reading.limit))
    else:
        same += [*any_leg_all(item.parts, leg), *(any_leg_id(name) for name in floor.due_after((item.id,)))]
        same += [frozenset(book.checks[name].needs) for name in floor.due_after((item.id,))]
    return tuple(same)
