"""Every fault lies below some symptom or some outcome of a check.

One that nothing looks at can be neither suspected nor found; most often its name is missing in a gate or
a chain.

Passes::

    faults:
      bus.loose: {name: loose, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
    chains:
      feed: {amends: true, elements: [{faults: [bus.dead, bus.loose], tap: bus}, {faults: [lock.dry], tap: lock}]}

Fails::

    faults:
      bus.loose: {name: loose, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from faulttree.book.expand import Draft
from faulttree.book.model import Event
from faulttree.book.positions import Problem

ID = "fault-reachable"


def check(draft: Draft) -> Iterator[Problem]:
    """Looks for faults that no symptom or check looks at; what broken entries name counts as looked at."""
    book = draft.book
    tops = [symptom.when for symptom in book.symptoms.values()]
    tops += [o.when for one in book.checks.values() for o in one.outcomes if o.when is not None]
    for name in sorted(draft.written.mentions):
        tops += draft.events.ids(name, None) or []
    reached = below(tops, book.events)
    missed: dict[str, list[str]] = {}
    for fault in book.faults.values():
        if fault.id not in reached:
            missed.setdefault(draft.origin["faults", fault.id].id, []).append(fault.leg or "")
    for fault_id, legs in missed.items():
        item = draft.written.faults[fault_id]
        whole = len(legs) == max(1, len(draft.names.legs.of("faults", fault_id)))
        what = f"fault `{fault_id}`{'' if whole else ' (' + ', '.join(legs) + ')'} lies below no symptom and no check"
        yield Problem(item.spots.key(), what, "name it in an event, a chain, a symptom or a check", ID)


def below(tops: Iterable[str], events: Mapping[str, Event]) -> set[str]:
    """All names that the tops look at, directly or through events, the tops included."""
    found: set[str] = set()
    waiting = list(tops)
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(events[name].of if name in events else ())
    return found
