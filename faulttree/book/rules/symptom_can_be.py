"""Every symptom has some fault below it.

One that nothing can bring about would contradict everything as soon as a pilot reports it. Where its
causes depend on what is fitted, the symptom says so too.

Passes::

    components:
      second-lamp: {name: Second lamp, fitted: [two-lamps]}
    faults:
      second-lamp.dark: {name: dark, rate: 1, basis: estimate, corrected_by: [new-lamp]}
    symptoms:
      no-light: {amends: true, when: {any_of: [light@lamp, second-lamp.dark]}}

Fails::

    components:
      second-lamp: {name: Second lamp, fitted: [two-lamps]}
    faults:
      second-lamp.dark: {name: dark, rate: 1, basis: estimate, corrected_by: [new-lamp]}
    symptoms:
      no-light: {amends: true, when: second-lamp.dark}
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from faulttree.book.expand import Draft
from faulttree.book.items import Item
from faulttree.book.positions import Problem
from faulttree.book.references import things
from faulttree.book.rules.fault_reachable import below

ID = "symptom-can-be"


def check(draft: Draft) -> Iterator[Problem]:
    """Looks at symptoms without a fault below; one that names what is unknown or broken is another problem."""
    book = draft.book
    for symptom in book.symptoms.values():
        item = draft.origin["symptoms", symptom.id]
        under = below([symptom.when], book.events)
        if under.isdisjoint(book.faults) and not _unsure(draft, item, under):
            what = f"nothing that this aircraft has brings symptom `{item.id}` about"
            yield Problem(item.spots.key("when"), what, "give the symptom a `fitted` too, or name what does", ID)


def _unsure(draft: Draft, symptom: Item[Any], events: Iterable[str]) -> bool:
    """Whether anything between the symptom and its faults names what is not known."""
    items = [symptom, *(draft.events.origin[name] for name in events if name in draft.events.origin)]
    return any(
        draft.names.find(reference.kind, reference.name) is None or draft.names.may_exist(reference.name)
        for item in items
        for reference in things(item)
    )
