"""Two overlays do not amend the same field.

The later one wins, and whoever wrote the earlier one is not told. Cautions only add up, so these may meet.

Passes::

    components:
      bus: {amends: true, also_called: [busbar]}

Fails::

    components:
      bus: {amends: true, name: Main bus}
    # and in a second overlay
    # components:
    #   bus: {amends: true, name: Busbar}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.merge import GROWING, Amendment
from faulttree.book.positions import ADVICE, Problem
from faulttree.book.sections import noun
from faulttree.workshop.subject import Subject

ID = "overlays-meet"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Looks at entries that overlays of different layers amended."""
    for section, entries in subject.written.entries.items():
        for entry in entries.values():
            first: dict[str, Amendment] = {}
            for amendment in entry.amendments:
                for field, where in amendment.fields.items():
                    other = first.setdefault(field, amendment)
                    if other.layer != amendment.layer and field not in GROWING:
                        what = f"`{field}` of {noun(section)} `{entry.id}` is amended here and at {other.fields[field]}"
                        yield Problem(where, what, "this one wins; keep one of the two", ID)
