"""What an overlay puts in the place of a list that keeps people safe leaves nothing of it out.

Cautions grow; any other list that is amended is replaced. Who writes ``needs: [wells-open]`` and means "that too"
would take the jacks away with all that is said of them, and the step would still tell of a leg that hangs. So what
stands in the place of ``needs`` or ``implies`` has to show the same cautions, an outcome keeps what it ``bars``, a
condition what it ``excludes`` and may not be set up beside, a repair what has to be looked at after it, a symptom
what the pilot is told of it. A check that an overlay retired is not missed here; what a condition that it retired
showed is.

Passes::

    checks:
      look-at-lock: {amends: true, needs: [on-jacks, master-on]}

Fails::

    checks:
      look-at-lock: {amends: true, needs: []}
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.merge import Amendment
from faulttree.book.positions import Problem
from faulttree.book.rules.cautions_kept import names_in, of_conditions

ID = "amends-keep"
_TOLD = {
    "excludes": "cannot stand with", "not_while": "is not set up or put back beside",
    "follow_up": "wants looked at after it", "pilot_advice": "tells the pilot",
}  # fmt: skip
"""Lists of which nothing may be left out, in words; ``needs``, ``implies`` and ``outcomes`` are looked at closer."""


def check(written: Written) -> Iterator[Problem]:
    """Holds every entry that overlays amended against what it was before."""
    for section in ("checks", "actions", "conditions", "symptoms"):
        for item in written.ids(section).values():
            for amendment in written.entries[section][item.id].amendments:
                for field in amendment.fields:
                    yield from _lost(written, item, amendment, field)


def _lost(written: Written, item: Item[Any], amendment: Amendment, field: str) -> Iterator[Problem]:
    where, before = amendment.fields[field], amendment.before
    if field in ("needs", "implies"):
        now = set(item.form.cautions) | of_conditions(written, getattr(item.form, field))
        gone = sorted(of_conditions(written, names_in(before, field)) - now)
        if gone:
            what = f"`{field}` replaces the list before it, and {item.noun} `{item.id}` loses cautions by that"
            kept = ", ".join(names_in(before, field))
            right = f"keep what stood there beside yours ({kept}), or add to its `cautions`: {', '.join(gone)}"
            yield Problem(where, what, right, ID)
    elif field == "outcomes" and isinstance(before.get(field), dict):
        for name, outcome in before[field].items():
            mine = item.form.outcomes.get(name)
            lost = sorted(set(names_in(outcome, "bars")) - set(mine.bars if mine else ()))
            if lost:
                what = f"outcome `{name}` of {item.noun} `{item.id}` no longer stops what it stopped"
                yield Problem(where, what, f"add to outcome `{name}`: `bars: [{', '.join(lost)}]`", ID)
    elif field in _TOLD:
        retired = {*written.retired["checks"], *written.retired["conditions"]}  # named nowhere any more
        lost = sorted(set(names_in(before, field)) - set(getattr(item.form, field)) - retired)
        if lost:
            what = f"`{field}` replaces the list before it, and leaves out what {item.noun} `{item.id}` {_TOLD[field]}"
            yield Problem(where, what, f"add to it: {'; '.join(lost)}", ID)
