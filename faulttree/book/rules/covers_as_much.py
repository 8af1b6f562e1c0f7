"""A check that stands for another does not ask for less care, and proves no less.

A long test may show all that a short one shows; then the short one is not due beside it (`covers`). Whoever passes the
long one has not read the cautions of the short one, so it must show them too, on itself or on what it needs; and a
proof is covered by a proof only.

Passes::

    checks:
      swing-twice:
        name: Swing the gear twice
        kind: test
        minutes: 9
        needs: [on-jacks]
        proof: true
        covers: [swing]
        cautions: [hot-bus]
        outcomes: {bad: {label: Still bad, when: the-squawk}, gone: {label: Gone, otherwise: true}}
        detects: 0.9
        false_alarm: 0.05
        basis: estimate

Fails::

    checks:
      look-at-bus: {amends: true, covers: [swing]}
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem
from faulttree.book.standing import with_implied

ID = "covers-as-much"


def check(written: Written) -> Iterator[Problem]:
    """Holds each check against those that it covers. One that names nothing is an unknown id."""
    for item in written.checks.values():
        for index, name in enumerate(item.form.covers):
            covered = written.checks.get(name)
            where = item.spots.value("covers", index)
            if name == item.id:
                yield Problem(where, f"check `{name}` covers itself", "leave it out", ID)
            elif covered is not None:
                yield from _less(written, item, covered, where)


def _less(written: Written, item: Item[Any], covered: Item[Any], where: Any) -> Iterator[Problem]:
    if covered.form.proof and not item.form.proof:
        what = f"`{covered.id}` is a proof, and `{item.id}`, which covers it, is none"
        yield Problem(where, what, "name a check that is no proof, or leave it out", ID)
    missing = sorted(_shown(written, covered) - _shown(written, item))
    if missing:
        what = f"`{item.id}` covers `{covered.id}` and does not show what that shows"
        yield Problem(where, what, f"add to its `cautions`: {', '.join(missing)}", ID)


def _shown(written: Written, item: Item[Any]) -> set[str]:
    """The cautions of a check and of all that it needs."""
    conditions: dict[str, Any] = {name: one.form for name, one in written.conditions.items()}
    needs: Iterable[str] = with_implied(item.form.needs, conditions)
    return {*item.form.cautions, *(caution for name in needs for caution in conditions[name].cautions)}
