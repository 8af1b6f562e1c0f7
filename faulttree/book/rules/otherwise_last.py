"""The last outcome of a check is "otherwise"; every other one names the event it stands for.

A check must have a result whatever is wrong with the aircraft. The outcomes are gone through in order, so
what remains can only come last.

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
          good: {label: Good, otherwise: true}
          burnt: {label: Burnt, when: bus.dead}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem

ID = "otherwise-last"


def check(written: Written) -> Iterator[Problem]:
    """Looks at the outcomes of every check, in order."""
    for item in written.checks.values():
        yield from _check(item)


def _check(item: Item[Any]) -> Iterator[Problem]:
    last = list(item.form.outcomes)[-1]
    for name, outcome in item.form.outcomes.items():
        where = item.spots.key("outcomes", name)
        if outcome.when is not None and outcome.otherwise:
            yield Problem(where, f"outcome `{name}` has both `when` and `otherwise`", "keep one of them", ID)
        elif name == last and not outcome.otherwise:
            what = f"the last outcome, `{name}`, is not what remains"
            yield Problem(where, what, "end with an outcome that says `otherwise: true`", ID)
        elif name != last and outcome.otherwise:
            yield Problem(where, f"outcome `{name}` says `otherwise` and is not the last", "put it last", ID)
        elif name != last and outcome.when is None:
            yield Problem(where, f"outcome `{name}` names no event", "add `when: <event or fault>`", ID)
