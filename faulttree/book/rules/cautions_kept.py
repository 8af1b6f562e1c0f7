"""What an overlay puts in the place of an entry shows the cautions that this entry showed.

An overlay may add cautions and never lose one; a check retired and written anew under another name would. What
stands in for another is told by what it is for: a check by the events of its outcomes, a symptom by its event, an
action by the faults that it corrects instead, a condition by the steps that need it instead, a component by its
name or by the modes of its faults. Of one that is gone a part is enough: a check that may find one of the same faults,
a symptom of half of the same causes, an action on one of the same parts, a component that fails in half of the same
ways. A question about the squawk touches nothing and stands in for none. In place of a check that is gone and found
half of the same, the cautions of what that needed have to be shown too, on the new one or on what it needs.

Passes::

    checks:
      look-at-bus: {retires: true, reason: the cover is riveted now}
      measure-bus:
        name: Measure the bus
        kind: test
        minutes: 4
        needs: [master-on]
        cautions: [hot-bus]
        outcomes: {dead: {label: Dead, when: bus.dead}, live: {label: Live, otherwise: true}}
        detects: 0.9
        false_alarm: 0.1
        basis: estimate
    actions:
      fix-bus: {amends: true, follow_up: [measure-bus]}

Fails::

    checks:
      look-at-bus: {retires: true, reason: the cover is riveted now}
      measure-bus:
        name: Measure the bus
        kind: test
        minutes: 4
        needs: [master-on]
        outcomes: {dead: {label: Dead, when: bus.dead}, live: {label: Live, otherwise: true}}
        detects: 0.9
        false_alarm: 0.1
        basis: estimate
    actions:
      fix-bus: {amends: true, follow_up: [measure-bus]}
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Entry
from faulttree.book.positions import Position, Problem
from faulttree.book.sections import noun
from faulttree.book.standing import with_implied
from faulttree.book.standins import finds, half, is_asked, is_gone, names_in, stand_ins

ID = "cautions-kept"


def check(written: Written) -> Iterator[Problem]:
    """Holds every entry that an overlay adds or amends against those that it stands in for."""
    below = Below(written)
    for item, entry, old, where in stand_ins(written):
        if entry.section == "checks" and is_asked(entry):
            continue
        yield from _lost(written, item, entry, old, where, below)


def _lost(
    written: Written, item: Item[Any], entry: Entry, old: Entry, where: Position, below: Below
) -> Iterator[Problem]:
    wanted, shown = set(names_in(old.data, "cautions")), set(item.form.cautions)
    if entry.section in ("checks", "actions"):
        shown |= of_conditions(written, item.form.needs)
        if (is_gone(written, old) or entry.section == "actions") and _as_much(entry, old, below):
            wanted |= of_conditions(written, names_in(old.data, "needs"))
        if entry.section == "checks" and names_in(entry.data, "near"):
            # The cautions of parts are shown by themselves, but for those that it says not to come near.
            both = finds(entry.data, below) & finds(old.data, below)
            wanted |= _of_parts(written, {fault.partition(".")[0] for fault in both})
    elif entry.section == "conditions":
        shown |= of_conditions(written, item.form.implies)
    missing = sorted(wanted - shown)
    if missing:
        hidden = old.id in written.ids(old.section) and is_gone(written, old)
        whom = f"`{old.id}`, which an overlay leaves out of view," if hidden else f"`{old.id}`"
        what = f"{item.noun} `{item.id}` stands in for {noun(old.section)} {whom} and does not show what that shows"
        yield Problem(where, what, f"add to its `cautions`: {', '.join(missing)}", ID)


def _as_much(entry: Entry, old: Entry, below: Below) -> bool:
    """Whether it is for half of the same at least, so that what the old one needed was needed for this."""
    return entry.section == "actions" or half(finds(old.data, below), finds(entry.data, below))


def _of_parts(written: Written, components: Iterable[str]) -> set[str]:
    known = written.components
    return {caution for name in components if name in known for caution in known[name].form.cautions}


def of_conditions(written: Written, needs: Any) -> set[str]:
    """Cautions of conditions with all that they imply, of those that an overlay retired too."""
    conditions: dict[str, Any] = {name: item.form for name, item in written.conditions.items()}
    retired, wanted = written.retired["conditions"], list(needs)
    for name in wanted:
        if name in retired:
            wanted += [other for other in names_in(retired[name].data, "implies") if other not in wanted]
    found = {caution for name in with_implied(wanted, conditions) for caution in conditions[name].cautions}
    return found.union(*(names_in(retired[name].data, "cautions") for name in wanted if name in retired))
