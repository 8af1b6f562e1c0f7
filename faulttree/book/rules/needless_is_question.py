"""Only a question to the pilot is made needless by an answer, or is asked only with some symptoms.

Where the pilot said that no breaker opened, nobody asks when it did; where no noise was reported, nobody asks where it
came from. A look or a test is another matter: what somebody remembers, or did not think of, does not stand for it.

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
        if item.form.only_with and item.form.kind != "ask":
            what = f"`{item.id}` is a {item.form.kind}, and is to be done only with some symptoms"
            yield Problem(item.spots.key("only_with"), what, "leave it out; it is for questions (kind: ask)", ID)
        for outcome_id, outcome in item.form.outcomes.items():
            for index, name in enumerate(outcome.needless):
                named = written.checks.get(name)
                if named is not None and named.form.kind != "ask":
                    where = item.spots.value("outcomes", outcome_id, "needless", index)
                    yield Problem(where, f"`{name}` is a {named.form.kind}", "name a question (kind: ask)", ID)
