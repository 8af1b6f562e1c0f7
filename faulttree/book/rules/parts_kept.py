"""A look or test keeps the cautions of the parts that it comes near to, whatever an overlay makes of its results.

The cautions of a part are shown with every look and test that one of its faults may lie behind. Who takes a fault out
of a result, an event or a circuit takes them away with it, and whoever does the work comes as near to the part as ever.

Passes::

    components:
      bus: {amends: true, cautions: [jacks-slip]}
    checks:
      look-at-bus:
        amends: true
        cautions: [jacks-slip]
        outcomes: {burnt: {label: Burnt, when: lamp.dark}, good: {label: Good, otherwise: true}}

Fails::

    components:
      bus: {amends: true, cautions: [jacks-slip]}
    checks:
      look-at-bus:
        amends: true
        outcomes: {burnt: {label: Burnt, when: lamp.dark}, good: {label: Good, otherwise: true}}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Entry
from faulttree.book.positions import Position, Problem
from faulttree.book.rules.cautions_kept import of_conditions
from faulttree.book.standins import finds
from faulttree.book.written import CheckForm

ID = "parts-kept"
_GATES = ("checks", "events", "chains", "symptoms")


def check(written: Written) -> Iterator[Problem]:
    """Holds what each look and test may find against what it did before overlays amended anything."""
    changed = [entry for section in _GATES for entry in written.entries[section].values() if entry.amendments]
    if not changed:
        return
    below, before = Below(written), Below(written, as_first=True)
    for item in written.checks.values():
        entry = written.entries["checks"][item.id]
        if item.form.kind != "ask" and not item.form.near and not entry.layer:
            lost = _lost(written, item, finds(entry.first(), before), finds(entry.data, below))
            if lost:
                what = f"{item.noun} `{item.id}` may find less than it did, and loses cautions of parts by that"
                where = _where(entry, changed, before, below) or item.spots.key()
                yield Problem(where, what, f"add to the `cautions` of `{item.id}`: {', '.join(lost)}", ID)


def _lost(written: Written, item: Item[CheckForm], was: frozenset[str], now: frozenset[str]) -> list[str]:
    components = written.components
    shown = [
        {
            caution
            for part in {fault.partition(".")[0] for fault in faults}
            if part in components
            for caution in components[part].form.cautions
        }
        for faults in (was, now)
    ]
    return sorted(shown[0] - shown[1] - set(item.form.cautions) - of_conditions(written, item.form.needs))


def _where(entry: Entry, changed: list[Entry], before: Below, below: Below) -> Position | None:
    """Where an overlay took something out: of the check itself, else of what may stand below it."""
    for one in sorted(changed, key=lambda other: other is not entry):
        if one is entry and "outcomes" in entry.amendments[-1].fields:
            return entry.amendments[-1].fields["outcomes"]
        if one.section != "checks" and before.of(one.id) - below.of(one.id):
            return one.amendments[-1].where
    return None
