"""A default lies in the range of what it stands for: a chance from 0 to 1, hours above 0.

It holds for every entry that states no figure of its own, so a percent sign forgotten here bends all of the book.

Passes::

    defaults:
      noticed: {amends: true, value: 0.8, basis: estimate}

Fails::

    defaults:
      noticed: {amends: true, value: 80, basis: estimate}
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pydantic_core import PydanticCustomError

from faulttree.book.forms import Between
from faulttree.book.items import Written
from faulttree.book.positions import Problem

ID = "default-in-range"

_CHANCE = Between(0, 1)
_SHARE = Between(0, 1, open_low=True)
_BELOW_ONE = Between(0, 1, open_high=True)
_INSIDE = Between(0, 1, open_low=True, open_high=True)
_ABOVE = Between(0, 100_000, open_low=True)
_RANGES: Mapping[str, Between] = {
    "hours": _ABOVE, "help": _ABOVE, "comeback": _ABOVE, "wait_weight": _CHANCE,
    "noticed": _CHANCE, "effective": _SHARE, "fresh": _INSIDE, "unlisted": _BELOW_ONE, "not_sure": _SHARE,
    "found_detects": _INSIDE, "found_false_alarm": _INSIDE,
    "factor_low": _SHARE, "factor_high": Between(1, 100_000),
}  # fmt: skip
"""The same ranges as where an entry states such a figure itself; any other default is 0 or more."""


def check(written: Written) -> Iterator[Problem]:
    """Looks at every default."""
    for item in written.defaults.values():
        try:
            if item.id in _RANGES:
                _RANGES[item.id].check(item.form.value)
        except PydanticCustomError as wrong:
            told = wrong.context or {}
            yield Problem(item.spots.value("value"), told["what"], told["right"], ID)
