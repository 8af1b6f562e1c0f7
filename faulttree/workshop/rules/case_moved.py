"""Every regression case brings out what it expects.

A change that breaks the book's sense shows in a case before it shows on an aircraft. Find out who is wrong: the change,
or what the case expects. A case is never bent to pass; where the trade expects something else now, say why beside it.

Passes::

    cases:
      bus-first:
        description: The bus was seen burnt.
        origin: constructed
        symptoms: [no-up]
        steps: [{answer: look-at-bus=burnt}]
        expect: {cause: bus}

Fails::

    cases:
      bus-first:
        description: The bus was seen burnt.
        origin: constructed
        symptoms: [no-up]
        steps: [{answer: look-at-bus=burnt}]
        expect: {cause: door}
"""

from __future__ import annotations

from faulttree.book.cases import RegressionCase
from faulttree.book.positions import Problem

ID = "case-moved"


def moved(case: RegressionCase, miss: str) -> Problem:
    """One thing that a case expects and the program does not do."""
    return Problem(case.position, f"case {case.id}: {miss}", "find out whether the book or the case is wrong", ID)
