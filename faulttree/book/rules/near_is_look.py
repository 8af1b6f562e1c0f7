"""Only a look says which parts it comes near.

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

from faulttree.book.items import Written
from faulttree.book.positions import Problem

ID = "near-is-look"


def check(written: Written) -> Iterator[Problem]:
    """Looks at the kind of checks that name what they come near."""
    for item in written.checks.values():
        if item.form.near and item.form.kind != "look":
            what = f"`{item.id}` is a {item.form.kind} and says what it comes near"
            yield Problem(item.spots.key("near"), what, "leave it out; it is for looks (kind: look)", ID)
