"""Every entry that carries a number says where the number comes from.

A figure nobody can trace cannot be checked, corrected or weighed against a shop's own; the one who wrote
it knows at the time of writing, nobody does later.

Passes::

    circumstances:
      salty: {name: Salt air, ask: Does it stand near the sea?, promotes: 2, basis: estimate}

Fails::

    circumstances:
      salty: {name: Salt air, ask: Does it stand near the sea?, promotes: 2}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem

ID = "basis-present"

_ALWAYS = ("faults", "checks", "actions", "conditions")
_WITH = {
    "circumstances": ("promotes", "demotes", "intermittent_faults", "steady_faults"),
    "symptoms": ("unlisted", "noticed"),
    "limits": ("typical",),
    "components": ("legs",),
}


def check(written: Written) -> Iterator[Problem]:
    """Looks at entries that carry a number and have no ``basis``."""
    for item in written.items():
        number = _number(item)
        if number is not None and item.form.basis is None:
            right = "add `basis: estimate`, `common-practice`, or `{kind: published, source: …, where: …}`"
            yield Problem(item.spots.key(), f"{item.noun} `{item.id}` gives {number} without a basis", right, ID)


def _number(item: Item[Any]) -> str | None:
    """What number an entry carries, in words."""
    if item.section in _ALWAYS:
        return "numbers"
    for field in _WITH.get(item.section, ()):
        if getattr(item.form, field) is not None:
            return f"`{field}`"
    return None
