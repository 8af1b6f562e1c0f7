"""Only a question to the pilot is made needless by an answer.

Where the pilot said that no breaker opened, nobody asks when it did. A look or a test is another matter: what somebody
remembers does not stand for it, so no answer takes it out of what is proposed.

Passes::

    checks:
      look-at-bus:
        amends: true
        outcomes:
          burnt: {label: Burnt, when: bus.dead, needless: [ask-light]}
          good: {label: Good, otherwise: true}

Fails::

    checks:
      ask-light:
        amends: true
        outcomes:
          none: {label: None, when: no-light, needless: [look-at-bus]}
          some: {label: Some, otherwise: true}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.positions import Problem

ID = "needless-is-question"


def check(written: Written) -> Iterator[Problem]:
    """Looks at what answers make needless. A name that is unknown is told elsewhere."""
    for item in written.checks.values():
        for outcome_id, outcome in item.form.outcomes.items():
            for index, name in enumerate(outcome.needless):
                named = written.checks.get(name)
                if named is not None and named.form.kind != "ask":
                    where = item.spots.value("outcomes", outcome_id, "needless", index)
                    yield Problem(where, f"`{name}` is a {named.form.kind}", "name a question (kind: ask)", ID)
