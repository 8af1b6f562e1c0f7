"""A symptom has five or more ways in which pilots put it, all different.

A pilot's own words are matched against them; with one or two, most squawks would be missed.

Passes::

    symptoms:
      no-up: {amends: true, says: [will not go up, won't retract, stays down, nothing happens, no gear up]}

Fails::

    symptoms:
      no-up: {amends: true, says: [will not go up, won't retract]}
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.positions import Problem

ID = "says-enough"
_ENOUGH = 5


def check(written: Written) -> Iterator[Problem]:
    """Counts the different paraphrases of each symptom."""
    for item in written.symptoms.values():
        count = len({words.casefold().strip() for words in item.form.says})
        if count < _ENOUGH:
            what = f"symptom `{item.id}` is put in {count} way{'' if count == 1 else 's'}"
            yield Problem(item.spots.key("says"), what, f"add paraphrases until there are {_ENOUGH}", ID)
