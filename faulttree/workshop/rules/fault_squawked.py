"""Every fault brings some squawk about.

One that checks show and repairs mend, and that lies below no symptom, is never among the causes, whatever the pilot
says. It is the line most often forgotten: the new cause in the event of its squawk.

Passes::

    faults:
      door.loose: {name: loose, rate: 0.1, basis: estimate, corrected_by: [straighten-doors]}
    symptoms:
      no-up: {amends: true, when: {any_of: [feed, leg-held, door.loose]}}
    checks:
      shake-doors:
        name: Shake the doors
        kind: test
        minutes: 1
        outcomes: {loose: {label: Loose, when: door.loose}, tight: {label: Tight, otherwise: true}}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate

Fails::

    faults:
      door.loose: {name: loose, rate: 0.1, basis: estimate, corrected_by: [straighten-doors]}
    checks:
      shake-doors:
        name: Shake the doors
        kind: test
        minutes: 1
        outcomes: {loose: {label: Loose, when: door.loose}, tight: {label: Tight, otherwise: true}}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.positions import ADVICE, Problem
from faulttree.book.rules.fault_reachable import below
from faulttree.workshop.subject import Fitted, Subject

ID = "fault-squawked"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Looks for faults below no symptom at any option at which they can be."""
    if not subject.whole:
        return  # what is so at some options says nothing yet
    seen: dict[str, Fitted] = {}
    brings: set[str] = set()
    for fitted in subject.fitted:
        squawked = below([symptom.when for symptom in fitted.book.symptoms.values()], fitted.book.events)
        for fault in fitted.book.faults:
            name = fitted.written("faults", fault).id
            seen.setdefault(name, fitted)
            if fault in squawked:
                brings.add(name)
    for name, fitted in seen.items():
        if name not in brings:
            item = fitted.draft.written.faults[name]
            what = f"fault `{name}` lies below no symptom, so it is among the causes of none"
            yield Problem(item.spots.key(), what, "add it to the event of a symptom, or to one below it", ID)
