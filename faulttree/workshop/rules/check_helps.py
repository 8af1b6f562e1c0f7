"""Every check tells causes of some squawk apart.

One that shows the same for all causes of each symptom costs its minutes and changes nothing. What a repair or another
check asks for by name has its use.

Passes::

    checks:
      look-at-bus: {amends: true, minutes: 2}

Fails::

    faults:
      bus.loose: {name: loose, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
    symptoms:
      bus-hums:
        name: The bus hums
        says: [it hums, a hum, humming, hums loudly, humming noise]
        when: bus.loose
    checks:
      listen:
        name: Listen
        kind: look
        minutes: 1
        outcomes:
          hums: {label: It hums, when: bus.loose}
          quiet: {label: Quiet, otherwise: true}
        detects: 0.9
        false_alarm: 0.02
        basis: estimate
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from faulttree.book.model import Book
from faulttree.book.positions import ADVICE, Problem
from faulttree.workshop.subject import Fitted, Subject

ID = "check-helps"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Looks for checks that show one and the same for all single faults of every symptom, at every option."""
    if not subject.whole:
        return  # what is so at some options says nothing yet
    seen: dict[str, Fitted] = {}
    helps: set[str] = set()
    for fitted in subject.fitted:
        asked_for = _asked_for(fitted.book)
        for one, tells in zip(fitted.checks, _tells(fitted), strict=True):
            item = fitted.written("checks", one.id)
            seen.setdefault(item.id, fitted)
            if one.id in asked_for or tells:
                helps.add(item.id)
    for name, fitted in seen.items():
        if name not in helps and all(rows.any() for rows in fitted.brings.values()):
            where = subject.written.checks[name].spots.key()
            what = f"check `{name}` shows the same for all causes of every symptom"
            yield Problem(where, what, "tie its outcomes to events that tell causes apart, or leave it out", ID)


def _tells(fitted: Fitted) -> list[bool]:
    """For each check whether it shows different things for the causes of any one symptom."""
    tells = np.zeros(fitted.shown.shape[1], dtype=np.bool_)
    for rows in fitted.brings.values():
        causes = fitted.shown[:-1][rows]
        tells |= (causes != causes[:1]).any(axis=0)
    return [bool(one) for one in tells]


def _asked_for(book: Book) -> set[str]:
    found = {name for action in book.actions.values() for name in (*action.follow_up, *action.after_any)}
    for one in book.checks.values():
        found |= {*one.after, *(name for outcome in one.outcomes for name in outcome.until)}
        if any(outcome.bars for outcome in one.outcomes):
            found.add(one.id)
    return found
