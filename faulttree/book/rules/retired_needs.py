"""An overlay does not retire what keeps a step safe or a job together.

A reference to a retired entry drops out, as one to what is not fitted does. A condition that a step needs
must not vanish like that, nor a check that a repair is followed by.

Passes::

    checks:
      ask-light: {retires: true, reason: nobody remembers}

Fails::

    conditions:
      on-jacks: {retires: true, reason: takes too long}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.legs import without_leg
from faulttree.book.positions import Problem
from faulttree.book.references import references
from faulttree.book.sections import noun

ID = "retired-needs"
_FIELDS = ("needs", "implies", "follow_up", "proof", "first")


def check(written: Written) -> Iterator[Problem]:
    """Looks for conditions, checks and the like that are retired and still needed."""
    if not any(written.retired.values()):
        return
    for item in written.items():
        for reference in references(item):
            gone = not {reference.name, without_leg(reference.name)[0]}.isdisjoint(
                written.retired.get(reference.kind, ())
            )
            if gone and any(field in _FIELDS for field in reference.path):
                what = f"{noun(reference.kind)} `{reference.name}` is retired by an overlay and still named here"
                yield Problem(item.spots.value(*reference.path), what, f"amend {item.noun} `{item.id}` too", ID)
