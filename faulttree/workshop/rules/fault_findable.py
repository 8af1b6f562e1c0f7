"""Every fault is shown by some check.

A fault that lies below a symptom and in no outcome of a check stays in the ranking for ever: nothing that the mechanic
does speaks for it or against it. A proof does not count, it asks for the squawk as a whole.

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
    symptoms:
      no-up: {amends: true, when: {any_of: [feed, leg-held, door.loose]}}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.model import Book
from faulttree.book.positions import ERROR, Problem
from faulttree.book.rules.fault_reachable import below
from faulttree.workshop.subject import Subject
from faulttree.workshop.testability import telling

ID = "fault-findable"
SEVERITY = ERROR


def check(subject: Subject) -> Iterator[Problem]:
    """Looks for faults below no outcome of any check, at every option at which they can be."""
    told: set[str] = set()
    for fitted in subject.fitted:
        shown = _below_checks(fitted.book)
        for fault in fitted.book.faults:
            item = fitted.written("faults", fault)
            if fault not in shown and item.id not in told:
                told.add(item.id)
                with_these = ", ".join(
                    sorted({*fitted.book.fitted.values()} - {*subject.fitted[0].book.fitted.values()})
                )
                what = f"no check can show fault `{item.id}`{f' (with {with_these})' if with_these else ''}"
                yield Problem(item.spots.key(), what, "name it in an outcome of a check, or in an event below one", ID)


def _below_checks(book: Book) -> set[str]:
    tops = [outcome.when for one in telling(book) for outcome in one.outcomes if outcome.when is not None]
    return below(tops, book.events)
