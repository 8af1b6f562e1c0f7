"""Every default stands in the files, with its basis.

A figure that only the program knew could be neither seen nor questioned by those who work with it.

Passes::

    defaults:
      hours: {amends: true, value: 30, basis: estimate}

Fails::

    defaults:
      hours: {retires: true, reason: nobody needs it}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.model import Defaults
from faulttree.book.positions import Position, Problem

ID = "defaults-stated"


def check(written: Written) -> Iterator[Problem]:
    """Looks for defaults that no file states."""
    missing = [
        name
        for name in Defaults.__dataclass_fields__
        if name not in written.defaults and name not in written.broken["defaults"] and name not in written.defines
    ]
    if missing:
        what = f"the section `defaults` does not state {', '.join(f'`{name}`' for name in missing)}"
        yield Problem(_where(written), what, "add `name: {value: …, basis: …}` for each, in the shared folder", ID)


def _where(written: Written) -> Position:
    for section in ("defaults", "book"):
        for entry in written.entries[section].values():
            return entry.spots.key()
    return Position("book")
