"""A matrix has a row for each outcome shown, a column for each true one, and columns that add up to 1.

Whatever is true, the check shows something.

Passes::

    checks:
      look-at-bus: {amends: true, detects: null, false_alarm: null, matrix: {burnt: [0.9, 0.1], good: [0.1, 0.9]}}

Fails::

    checks:
      look-at-bus: {amends: true, detects: null, false_alarm: null, matrix: {burnt: [0.9, 0.1], good: [0.2, 0.9]}}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.nearest import did_you_mean
from faulttree.book.positions import Problem

ID = "matrix-columns"
_TOLERANCE = 1e-6


def check(written: Written) -> Iterator[Problem]:
    """Looks at the matrix of every check that states one."""
    for item in written.checks.values():
        if item.form.matrix is not None:
            yield from _check(item, item.form.matrix)


def _check(item: Item[Any], matrix: dict[str, list[float]]) -> Iterator[Problem]:
    outcomes = list(item.form.outcomes)
    whole = True
    for name in outcomes:
        if name not in matrix:
            whole = False
            yield Problem(item.spots.key("matrix"), f"the matrix has no row `{name}`", f"add `{name}: […]`", ID)
    for name, row in matrix.items():
        if name not in outcomes:
            right = did_you_mean(name, outcomes, f"outcomes: {', '.join(outcomes)}")
            yield Problem(item.spots.key("matrix", name), f"`{name}` is no outcome of this check", right, ID)
        elif len(row) != len(outcomes):
            whole = False
            what = f"row `{name}` has {len(row)} numbers"
            right = f"write {len(outcomes)}, one for each true outcome: {', '.join(outcomes)}"
            yield Problem(item.spots.value("matrix", name), what, right, ID)
    for column, name in enumerate(outcomes) if whole else ():
        total = sum(matrix[shown][column] for shown in outcomes)
        if abs(total - 1) > _TOLERANCE:
            what = f"column {column + 1} (truly `{name}`) adds up to {total:g}"
            yield Problem(item.spots.key("matrix"), what, "let each column add up to 1", ID)
