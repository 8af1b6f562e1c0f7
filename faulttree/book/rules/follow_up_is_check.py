"""What follows a repair is a check.

A job is closed when the follow-ups of its repairs have been done and answered; an action has no answer.

Passes::

    actions:
      fix-bus: {amends: true, follow_up: [look-at-bus]}

Fails::

    actions:
      fix-bus: {amends: true, follow_up: [oil-lock]}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.positions import Problem
from faulttree.book.sections import ENTRIES, a_noun

ID = "follow-up-is-check"


def check(written: Written) -> Iterator[Problem]:
    """Looks at follow-ups that name another kind of entry. One that names nothing is an unknown id."""
    for item in written.actions.values():
        for index, name in enumerate(item.form.follow_up):
            section = next((s for s in ENTRIES if s != "checks" and name in written.ids(s)), None)
            if section is not None and name not in written.checks:
                where = item.spots.value("follow_up", index)
                yield Problem(where, f"`{name}` is {a_noun(section)}", "name a check", ID)
