"""Whatever a check, an action or a condition needs can stand at the same time.

A step whose needs exclude each other could be advised and never be done.

Passes::

    checks:
      look-at-bus: {amends: true, needs: [master-on, on-jacks]}

Fails::

    conditions:
      on-wheels:
        name: On its wheels
        set_up: {words: Put it on its wheels, minutes: 1}
        restore: {words: Leave it there, minutes: 0}
        excludes: [on-jacks]
        basis: estimate
    checks:
      look-at-bus: {amends: true, needs: [master-on, on-jacks, on-wheels]}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.expand import Draft
from faulttree.book.positions import Position, Problem
from faulttree.book.standing import why_never, with_implied

ID = "needs-can-stand"
MOST = 500
"""Conditions of a book. A hangar knows some dozens; each is held against all that it implies, and so on."""

_RIGHT = "change `needs`, or `implies`, `excludes` and `not_while` of the conditions"


def check(draft: Draft) -> Iterator[Problem]:
    """Looks at conditions with all they imply, then at what else needs any; each flaw is told where it arises."""
    conditions = draft.book.conditions
    if len(conditions) > MOST:
        where = next(item.spots.key() for (section, _), item in draft.origin.items() if section == "conditions")
        yield Problem(where, f"there are {len(conditions)} conditions", f"write at most {MOST}", ID)
        return
    never: set[str] = set()
    for name in conditions:
        why = why_never([name], conditions)
        if why is not None:
            never.add(name)
            where = draft.origin["conditions", name].spots.key()
            yield Problem(where, f"condition `{name}` can never stand: {why}", _RIGHT, ID)
    reasons: dict[tuple[str, ...], str | None] = {}
    for who, where, needs in _needs(draft):
        if needs not in reasons:
            told_above = not never.isdisjoint(with_implied(needs, conditions))
            reasons[needs] = None if told_above else why_never(needs, conditions)
        why = reasons[needs]
        if why is not None:
            yield Problem(where, f"what {who} needs can never stand: {why}", _RIGHT, ID)


def _needs(draft: Draft) -> Iterator[tuple[str, Position, tuple[str, ...]]]:
    for one in draft.book.checks.values():
        item = draft.origin["checks", one.id]
        yield f"check `{item.id}`", item.spots.key("needs"), one.needs
    for action in draft.book.actions.values():
        item = draft.origin["actions", action.id]
        yield f"action `{item.id}`", item.spots.key("needs"), action.needs
    for question in draft.book.opening:
        item = draft.origin["opening", question.id]
        for answer in question.answers:
            where = item.spots.key("answers", answer.id, "first")
            yield f"answer `{answer.id}`", where, answer.first
