"""A check that stands for another does not ask for less care, and proves no less.

A long test may show all that a short one shows; then the short one is not due beside it (`covers`). Whoever passes the
long one has not read the cautions of the short one, so it must show them too, on itself or on what it needs; and a
proof is covered by a proof only. Where an overlay says so, the long one has results for all that the short one finds:
else what is due after a repair would not be looked at by either.

Passes::

    checks:
      swing-twice:
        name: Swing the gear twice
        kind: test
        minutes: 9
        needs: [on-jacks, master-on]
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

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.model import THE_SQUAWK
from faulttree.book.positions import Problem
from faulttree.book.standing import with_implied
from faulttree.book.standins import finds, names_in

ID = "covers-as-much"
HANDS = ("ask", "look", "test")
"""Kinds of checks, by how much is done."""

MOST_TOLD = 5
"""Faults named of those that the longer check does not find."""


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
                if name in _by_overlays(written, item):
                    yield from _unseen(written, item, covered, where)


def _by_overlays(written: Written, item: Item[Any]) -> set[str]:
    """The names that an overlay put under ``covers``, of an entry of its own or of another's."""
    entry = written.entries["checks"][item.id]
    known: set[str] = set() if entry.layer else set(item.form.covers)
    for amendment in entry.amendments:
        if "covers" in amendment.fields:
            known &= set(names_in(amendment.before, "covers"))
    return set(item.form.covers) - known


def _unseen(written: Written, item: Item[Any], covered: Item[Any], where: Any) -> Iterator[Problem]:
    for what, right in less_done(written, item, covered):
        yield Problem(where, f"`{item.id}` covers `{covered.id}` and {what}", right, ID)
    below, checks = Below(written), written.entries["checks"]
    missing = sorted(finds(checks[covered.id].data, below) - finds(checks[item.id].data, below))
    if missing and not (_asks_for_the_squawk(item) and _asks_for_the_squawk(covered)):
        what = f"`{item.id}` covers `{covered.id}` and has no result for what that finds"
        told = ", ".join(missing[:MOST_TOLD]) + (f" and {len(missing) - MOST_TOLD} more" * (len(missing) > MOST_TOLD))
        yield Problem(where, what, f"add a result to `{item.id}` for {told}, or leave `{covered.id}` out", ID)


def less_done(written: Written, item: Item[Any], covered: Item[Any]) -> Iterator[tuple[str, str]]:
    """What a check does less than the one that it is to stand for, and what would be right; nothing for as much."""
    if HANDS.index(item.form.kind) < HANDS.index(covered.form.kind):
        yield f"is of kind {item.form.kind}, that {covered.form.kind}", f"leave `{covered.id}` out"
    conditions: dict[str, Any] = {name: one.form for name, one in written.conditions.items()}
    lacks = set(with_implied(covered.form.needs, conditions)) - set(with_implied(item.form.needs, conditions))
    if lacks:
        yield "needs less", f"add to its `needs`: {', '.join(sorted(lacks))}"
    if item.form.people < covered.form.people:
        yield "is left to fewer people", f"write `people: {covered.form.people}`"
    barred = {name for outcome in covered.form.outcomes.values() for name in outcome.bars}
    stops = {name for outcome in item.form.outcomes.values() for name in outcome.bars}
    if barred - stops:
        yield "stops less", f"let a result of it stop {', '.join(sorted(barred - stops))}"


def _asks_for_the_squawk(item: Item[Any]) -> bool:
    return any(outcome.when == THE_SQUAWK for outcome in item.form.outcomes.values())


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
