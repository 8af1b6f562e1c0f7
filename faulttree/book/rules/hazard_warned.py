"""A condition that is a hazard has a WARNING among its cautions.

A step is not begun before its warnings have been shown and acknowledged; a hazard without one would be
set up unannounced.

Passes::

    conditions:
      on-jacks: {amends: true, hazard: true}

Fails::

    conditions:
      power-on:
        name: Power on
        set_up: {words: Switch on, minutes: 1}
        restore: {words: Switch off, minutes: 1}
        hazard: true
        basis: estimate
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.positions import Problem

ID = "hazard-warned"


def check(written: Written) -> Iterator[Problem]:
    """Looks at conditions with ``hazard: true``."""
    for item in written.conditions.values():
        cautions = item.form.cautions
        if not item.form.hazard or any(name not in written.cautions for name in cautions):
            continue
        if not any(written.cautions[name].form.level == "WARNING" for name in cautions):
            what = f"the hazard `{item.id}` has no WARNING"
            yield Problem(item.spots.key("hazard"), what, "name a caution of level WARNING under `cautions`", ID)
