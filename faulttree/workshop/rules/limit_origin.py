"""A limit says which part of the manual gives it, and no figure of one hides in words.

"See the manual" sends the mechanic through a thousand pages. A voltage or a pressure written into an outcome judges
without saying by what right; let the outcome speak of the limit, and name it in a `reading`.

Passes::

    limits:
      bus-volts: {amends: true, where: "electrical section, bus voltage test"}

Fails::

    limits:
      bus-volts: {amends: true, where: the manual}
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from faulttree.book.positions import ADVICE, Problem
from faulttree.units import UNITS
from faulttree.workshop.subject import Subject

ID = "limit-origin"
SEVERITY = ADVICE

_SPELLED = {typed for unit in UNITS for typed in (unit.symbol.casefold(), *unit.typed)}
_UNITS = "|".join(re.escape(typed) for typed in sorted(_SPELLED, key=lambda typed: (-len(typed), typed)))
_NUMBER = rf"[0-9][0-9.,]*\s*({_UNITS})(?!\w)"
_FIGURE = re.compile(
    rf"(?i)\b(above|below|under|over|less than|more than|at least|at most|within|up to)\s+{_NUMBER}"
    rf"|[<>≤≥]\s*{_NUMBER}|\b{_NUMBER}\s+(or|and)\s+(less|more|below|above|over|under|lower|higher)\b"
)
_SAYS_NOTHING = {"see", "the", "maker", "maker's", "makers", "manual", "maintenance", "current", "in", "of", "book"}


def check(subject: Subject) -> Iterator[Problem]:
    """Looks at where limits come from, and for figures in the words of outcomes."""
    for limit in subject.written.limits.values():
        if set(re.findall(r"[\w']+", limit.form.where.casefold())) <= _SAYS_NOTHING:
            what = f"limit `{limit.id}` does not say which part of the manual gives it"
            yield Problem(limit.spots.value("where"), what, "name the section and the test", ID)
    for item in subject.written.checks.values():
        for name, outcome in item.form.outcomes.items():
            found = _FIGURE.search(outcome.label)
            if found is not None:
                where = item.spots.value("outcomes", name, "label")
                what = f"outcome `{name}` judges by a figure, `{found[0]}`, that comes from nowhere"
                yield Problem(where, what, "say above or below the limit, and name the limit in a `reading`", ID)
