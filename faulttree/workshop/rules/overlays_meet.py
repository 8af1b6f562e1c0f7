"""Two overlays do not amend the same field.

The later one wins, and whoever wrote the earlier one is not told. Cautions only add up, so these may meet, and so may
lists of which the later one has all that the earlier one wrote, and more. The same goes for two files
of one overlay.

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
from typing import Any

from faulttree.book.merge import GROWING, Amendment
from faulttree.book.positions import ADVICE, Problem
from faulttree.book.sections import noun
from faulttree.workshop.subject import Subject

ID = "overlays-meet"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Looks at entries that several overlays amended, or several files of one."""
    for section, entries in subject.written.entries.items():
        for entry in entries.values():
            first: dict[str, tuple[Amendment, Any]] = {}
            for amendment, after in entry.changes():
                for field, where in amendment.fields.items():
                    value = after.get(field) if isinstance(after, dict) else after
                    other, before = first.setdefault(field, (amendment, value))
                    if other is amendment or field in GROWING:
                        continue
                    alone = other.layer != amendment.layer and not isinstance(value, list | dict)
                    if alone or not _kept(before, value):
                        what = f"`{field}` of {noun(section)} `{entry.id}` is amended here and at {other.fields[field]}"
                        yield Problem(where, what, "this one wins; keep one of the two", ID)


def _kept(before: Any, after: Any) -> bool:
    """Whether all that stood is there still, and more at most: so files of one overlay add to a list in turn."""
    if isinstance(before, list) and isinstance(after, list):
        return all(
            one in after or any(isinstance(one, dict) and _kept(one, other) for other in after) for one in before
        )
    if isinstance(before, dict) and isinstance(after, dict):
        return all(name in after and _kept(value, after[name]) for name, value in before.items())
    return bool(before == after)
