"""What locks out stays until the powered work: an overlay takes no support and no breaker tag off for anything less.

The book takes what is `kept_to_last`, as the supports of a leg in doubt, off for hazards alone, which say so in their
cautions. A condition of an overlay, or of the book as an overlay amends it, that excludes one or is not set up beside
it would take it off for a reading.

Passes::

    conditions:
      panel-out: {amends: true, adds: {excludes: [master-on]}}

Fails::

    conditions:
      straps-on:
        name: Straps on the legs
        set_up: {words: Strap the legs, minutes: 4}
        restore: {words: Take the straps off, minutes: 4}
        kept_to_last: true
        basis: estimate
      lamp-lit:
        name: Lamps lit
        set_up: {words: Master on, minutes: 1}
        restore: {words: Master off, minutes: 1}
        excludes: [straps-on]
        basis: estimate
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import Problem
from faulttree.book.standing import with_implied
from faulttree.book.standins import names_in
from faulttree.book.written import ConditionForm

ID = "lock-outs-stay"


def _less_than_others(written: Written, item: Item[ConditionForm], lock: str) -> str:
    """What a condition is less than all those of the book for which the same comes off; "" for nothing."""
    if not item.form.hazard:
        return "is no hazard"
    conditions: dict[str, Any] = {name: one.form for name, one in written.conditions.items()}
    others = [
        one for one in written.conditions.values()
        if not written.entries["conditions"][one.id].layer and lock in (*one.form.excludes, *one.form.not_while)
    ]  # fmt: skip
    if not others:
        return ""
    wanted = set.intersection(*(set(with_implied([one.id], conditions)) - {one.id} for one in others))
    missing = sorted(wanted - set(with_implied([item.id], conditions)))
    if missing:
        return f"brings about less than those of the book ({', '.join(missing)})"
    people = min(one.form.people for one in others)
    return f"is left to fewer than {people} people" if item.form.people < people else ""


def check(written: Written) -> Iterator[Problem]:
    """Looks at what overlays add to the conditions that do not stand beside others."""
    locks = {name for name, item in written.conditions.items() if item.form.kept_to_last}
    for item in written.conditions.values():
        entry = written.entries["conditions"][item.id]
        for field in ("excludes", "not_while"):
            known = set[str]() if entry.layer else set(getattr(item.form, field))
            for amendment in entry.amendments:
                known &= set(names_in(amendment.before, field)) if field in amendment.fields else known
            gained = sorted((set(getattr(item.form, field)) - known) & locks)
            less = next((why for name in gained if (why := _less_than_others(written, item, name))), "")
            if gained and less:
                what = f"condition `{item.id}` {less}, and {', '.join(gained)} would come off for it"
                where = [one.fields[field] for one in entry.amendments if field in one.fields]
                at = where[-1] if where else item.spots.key(field)
                yield Problem(at, what, f"leave it out of `{field}`", ID)
