"""A check says how well it tells, and an outcome is likelier when it is true than when nothing is wrong.

``detects`` is the probability of an outcome where its event holds, ``false_alarm`` that of any of them
where none does, shared out among them. Were the first not the larger, seeing an outcome would speak
against what it stands for.

Passes::

    checks:
      look-at-bus: {amends: true, detects: 0.9, false_alarm: 0.1}

Fails::

    checks:
      look-at-bus: {amends: true, detects: 0.1, false_alarm: 0.3}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem

ID = "detects-coherent"


def check(written: Written) -> Iterator[Problem]:
    """Looks at checks that do not state their matrix, and at those that state both."""
    for item in written.checks.values():
        yield from _with_matrix(item) if item.form.matrix is not None else _without(item)


def _with_matrix(item: Item[Any]) -> Iterator[Problem]:
    form = item.form
    given = [name for name in ("detects", "false_alarm") if getattr(form, name) is not None]
    for name in given:
        yield Problem(item.spots.key(name), f"`{name}` stands beside a `matrix`", "keep one of the two", ID)
    for name, outcome in form.outcomes.items():
        if outcome.detects is not None:
            where = item.spots.key("outcomes", name, "detects")
            yield Problem(where, "`detects` stands beside a `matrix`", "keep one of the two", ID)


def _without(item: Item[Any]) -> Iterator[Problem]:
    form = item.form
    if form.false_alarm is None:
        yield Problem(item.spots.key(), f"check `{item.id}` has no `false_alarm`", "add it, or a `matrix`", ID)
    share = (form.false_alarm or 0.0) / (len(form.outcomes) - 1)
    for name, outcome in form.outcomes.items():
        if outcome.otherwise:
            if outcome.detects is not None:
                where = item.spots.key("outcomes", name, "detects")
                yield Problem(where, "`detects` has no meaning for what remains", "leave it out", ID)
            continue
        detects = form.detects if outcome.detects is None else outcome.detects
        if detects is None:
            where = item.spots.key("outcomes", name)
            right = "add `detects: …` to it or to the check"
            yield Problem(where, f"nothing says how surely outcome `{name}` shows", right, ID)
        elif detects <= share:
            own = ("outcomes", name) if outcome.detects is not None else ()
            where = item.spots.value(*own, "detects")
            what = f"outcome `{name}` is shown with {detects:g} if true and {share:g} if nothing is wrong"
            yield Problem(where, what, "let `detects` be the larger", ID)
