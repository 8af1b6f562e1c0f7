"""A proof has an outcome tied to ``the-squawk``, and nothing but a proof has one.

A proof asks whether what the pilot reported is gone; without that outcome it would prove nothing, and on
any other check the words would have no meaning. Symptoms and the family name a proof as theirs.

Passes::

    checks:
      swing: {amends: true, proof: true}

Fails::

    checks:
      swing: {amends: true, proof: false}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.model import THE_SQUAWK
from faulttree.book.positions import Problem

ID = "proof-names-squawk"


def check(written: Written) -> Iterator[Problem]:
    """Looks at all checks, and at the checks that symptoms and the family name as their proof."""
    for item in written.checks.values():
        yield from _check(item)
    users: list[Item[Any]] = [*written.symptoms.values(), *written.family.values()]
    for user in users:
        proof = written.checks.get(user.form.proof or "")
        if proof is not None and not proof.form.proof:
            what = f"`{proof.id}` is not a proof"
            yield Problem(user.spots.value("proof"), what, f"add `proof: true` to `{proof.id}`, or name another", ID)


def _check(item: Item[Any]) -> Iterator[Problem]:
    squawk = [name for name, outcome in item.form.outcomes.items() if outcome.when == THE_SQUAWK]
    if item.form.proof and len(squawk) != 1:
        what = f"the proof `{item.id}` has {len(squawk) or 'no'} outcome{'s' if squawk else ''} tied to the squawk"
        yield Problem(item.spots.key("outcomes"), what, f"let one outcome say `when: {THE_SQUAWK}`", ID)
    if squawk and not item.form.proof:
        where = item.spots.value("outcomes", squawk[0], "when")
        yield Problem(where, f"`{THE_SQUAWK}` is for proofs", "add `proof: true`, or name an event", ID)
