"""The outcomes of a check have different labels.

A mechanic chooses between the labels, and the record shows nothing else.

Passes::

    checks:
      look-at-bus:
        amends: true
        outcomes:
          burnt: {label: Burnt, when: bus.dead}
          good: {label: Good, otherwise: true}

Fails::

    checks:
      look-at-bus:
        amends: true
        outcomes:
          burnt: {label: Good, when: bus.dead}
          good: {label: good, otherwise: true}
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem

ID = "labels-distinct"


def check(written: Written) -> Iterator[Problem]:
    """Looks at outcomes of checks and at answers of opening questions; capitals make no difference."""
    for item in written.checks.values():
        yield from _distinct(item, "outcomes", item.form.outcomes)
    for question in written.opening.values():
        yield from _distinct(question, "answers", question.form.answers)


def _distinct(item: Item[Any], field: str, members: Mapping[str, Any]) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for name, member in members.items():
        other = seen.setdefault(member.label.casefold().strip(), name)
        if other != name:
            where = item.spots.value(field, name, "label")
            yield Problem(where, f"`{name}` has the label of `{other}`", "give each a label of its own", ID)
