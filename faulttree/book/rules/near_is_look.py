"""Only a look that needs nothing hazardous says which parts it comes near.

A step shows the cautions of every part that its outcomes look at. A look at a panel may tell of a jam far away from it,
and five pages of cautions for that are read by nobody. Whoever measures or moves something is another matter.

Passes::

    checks:
      look-at-bus: {amends: true, name: Bus looked at once more}

Fails::

    checks:
      ask-light: {amends: true, near: [bus]}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Written
from faulttree.book.positions import Problem
from faulttree.book.standing import with_implied

ID = "near-is-look"


def check(written: Written) -> Iterator[Problem]:
    """Looks at kind and needs of checks that name what they come near."""
    conditions: dict[str, Any] = {name: item.form for name, item in written.conditions.items()}
    for item in written.checks.values():
        if not item.form.near:
            continue
        hazards = [name for name in with_implied(item.form.needs, conditions) if conditions[name].hazard]
        if item.form.kind != "look":
            what = f"`{item.id}` is a {item.form.kind} and says what it comes near"
            yield Problem(item.spots.key("near"), what, "leave it out; it is for looks (kind: look)", ID)
        elif hazards:
            what = f"`{item.id}` says what it comes near and needs the hazard `{hazards[0]}`"
            yield Problem(item.spots.key("near"), what, "leave it out, so that all parts' cautions are shown", ID)
