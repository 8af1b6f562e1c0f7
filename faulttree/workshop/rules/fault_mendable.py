"""Every fault has an action that can be proposed.

An action is proposed only after one of the checks that it names under `after_any`. Where none of these looks at the
fault, the cause can be found and never repaired.

Passes::

    actions:
      fix-bus: {amends: true, after_any: [look-at-bus]}

Fails::

    actions:
      fix-bus: {amends: true, after_any: [look-at-lock]}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.model import THE_SQUAWK, Action, Book
from faulttree.book.positions import ERROR, Problem
from faulttree.book.rules.fault_reachable import below
from faulttree.workshop.subject import Subject

ID = "fault-mendable"
SEVERITY = ERROR


def check(subject: Subject) -> Iterator[Problem]:
    """Looks at each fault's actions for one that is free, or waits for a check that looks at the fault."""
    for fitted, fault in subject.everywhere("faults"):
        book = fitted.book
        actions = [book.actions[name] for name in book.faults[fault].corrected_by]
        if not any(_can_come(book, action, fault) for action in actions):
            item = fitted.written("faults", fault)
            names = ", ".join(f"`{name}`" for name in dict.fromkeys(action.id for action in actions))
            what = f"what corrects fault `{item.id}` ({names}) waits for checks that do not look at it"
            yield Problem(item.spots.key("corrected_by"), what, "name one that does under the action's `after_any`", ID)


def _can_come(book: Book, action: Action, fault: str) -> bool:
    checks = [book.checks[name] for name in action.after_any if name in book.checks]
    tops = [o.when for one in checks for o in one.outcomes if o.when is not None and o.when != THE_SQUAWK]
    proof = any(one.proof for one in checks)
    return not action.after_any or proof or fault in below(tops, book.events)
