"""A reading lies between two different outcomes of its check.

Below the limit it means the one, above it the other.

Passes::

    checks:
      look-at-bus:
        amends: true
        reading: {quantity: voltage, unit: V, error: 0.2, limit: bus-volts, below: burnt, above: good}

Fails::

    checks:
      look-at-bus:
        amends: true
        reading: {quantity: voltage, unit: V, error: 0.2, limit: bus-volts, below: low, above: good}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.nearest import did_you_mean
from faulttree.book.positions import Problem

ID = "reading-outcomes"


def check(written: Written) -> Iterator[Problem]:
    """Looks at the two outcomes that each reading names."""
    for item in written.checks.values():
        reading = item.form.reading
        if reading is None:
            continue
        outcomes = list(item.form.outcomes)
        for field, name in (("below", reading.below), ("above", reading.above)):
            if name not in outcomes:
                right = did_you_mean(name, outcomes, f"outcomes: {', '.join(outcomes)}")
                where = item.spots.value("reading", field)
                yield Problem(where, f"`{name}` is no outcome of this check", right, ID)
        if reading.below == reading.above:
            where = item.spots.value("reading", "above")
            yield Problem(where, "below and above the limit mean the same", "name two different outcomes", ID)
