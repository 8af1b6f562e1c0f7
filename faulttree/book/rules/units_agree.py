"""A reading is taken in a unit that can be turned into that of its limit.

A reading in psi cannot be held against a limit in volts, and one in an unknown unit against none. A unit that the
program does not know (drops a minute) serves where both are written alike.

Passes::

    checks:
      look-at-bus:
        amends: true
        reading: {quantity: voltage, unit: mV, error: 200, limit: bus-volts, below: burnt, above: good}

Fails::

    checks:
      look-at-bus:
        amends: true
        reading: {quantity: voltage, unit: psi, error: 0.2, limit: bus-volts, below: burnt, above: good}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Problem
from faulttree.errors import BadAnswer
from faulttree.units import SYMBOLS, TYPED, unit_named

ID = "units-agree"


def check(written: Written) -> Iterator[Problem]:
    """Looks at the units of readings and their limits, and at units of limits that no reading is taken in."""
    taken = {check.form.reading.unit for check in written.checks.values() if check.form.reading is not None}
    for limit in written.limits.values():
        if _known(limit.form.unit) is None and limit.form.unit not in taken:
            yield Problem(
                limit.spots.value("unit"), f"there is no unit `{limit.form.unit}`", _right(limit.form.unit), ID
            )
    for item in written.checks.values():
        reading = item.form.reading
        if reading is None or reading.limit not in written.limits:
            continue
        wanted = written.limits[reading.limit].form.unit
        mine, other = _known(reading.unit), _known(wanted)
        if reading.unit == wanted or (mine and other and SYMBOLS[mine].measures == SYMBOLS[other].measures):
            continue
        where = item.spots.value("reading", "unit")
        if mine is None:
            yield Problem(where, f"there is no unit `{reading.unit}`", _right(reading.unit), ID)
        else:
            what = (
                f"a reading in `{reading.unit}` cannot be held against limit `{reading.limit}`, which is in `{wanted}`"
            )
            yield Problem(where, what, f"write `unit: {wanted}`, or name another limit", ID)


def _known(unit: str) -> str | None:
    try:
        return unit_named(unit)
    except BadAnswer:
        return None


def _right(unit: str) -> str:
    return did_you_mean(unit.casefold(), TYPED, f"known: {listed(SYMBOLS)}")
