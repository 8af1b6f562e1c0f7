"""Every fault is corrected by something.

A cause that no action removes would leave the mechanic with a name and no way on.

Passes::

    faults:
      bus.dead: {amends: true, corrected_by: [fix-bus]}

Fails::

    faults:
      bus.dead: {amends: true, corrected_by: []}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.expand import Draft
from faulttree.book.positions import Problem

ID = "fault-corrected"


def check(draft: Draft) -> Iterator[Problem]:
    """Looks at faults for which no action applies. A name that is unknown or broken is another problem."""
    for fault in draft.book.faults.values():
        item = draft.origin["faults", fault.id]
        names = item.form.corrected_by
        if fault.corrected_by or any(draft.names.find("actions", name) is None for name in names):
            continue
        what = f"nothing corrects fault `{item.id}`"
        if names:
            what = f"no action that corrects fault `{item.id}` applies to this aircraft"
        yield Problem(item.spots.key(), what, "name an action under `corrected_by`", ID)
