"""``{leg}`` stands only where there are legs to put in its place.

Anywhere else the braces would be shown to the mechanic, or a word would be missing.

Passes::

    actions:
      oil-lock: {amends: true, name: "Oil the {leg} lock"}

Fails::

    actions:
      fix-bus: {amends: true, name: "Repair the {leg} bus"}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Written
from faulttree.book.legs import PLACEHOLDER, Legs
from faulttree.book.positions import Problem
from faulttree.book.sections import noun
from faulttree.book.yamlbuild import Path

ID = "leg-has-legs"
_NEVER = ("name", "ask", "how", "healthy", "outcomes", "parts", "who", "elements", "says", "pilot_advice", "answers")


def check(written: Written) -> Iterator[Problem]:
    """Looks at the texts of entries without legs."""
    legs = Legs(written)
    for item in written.items():
        data = written.entries[item.section][item.id].data
        paths = [path for name in _NEVER if name in data for path in _places(data[name], (name,))]
        if not paths or legs.of(item.section, item.id) or getattr(item.form, "each_leg", False):
            continue
        if item.section == "faults" and item.id.split(".", 1)[0] not in written.components:
            continue
        for path in paths:
            what = f"`{PLACEHOLDER}` stands in {noun(item.section)} `{item.id}`, which has no legs"
            yield Problem(item.spots.value(*path), what, "leave it out, or add `each_leg: true`", ID)


def _places(data: Any, path: Path) -> Iterator[Path]:
    if isinstance(data, str) and PLACEHOLDER in data:
        yield path
    elif isinstance(data, dict):
        for name, value in data.items():
            yield from _places(value, (*path, name))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _places(value, (*path, index))
