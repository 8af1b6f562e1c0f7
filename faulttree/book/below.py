"""Which faults what an entry names comes down to, as written: no legs, no options, retired entries too.

Rules that hold what overlays put in the place of something need it before there is a book.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Written
from faulttree.book.legs import without_leg

GATES = ("any_of", "all_of", "not", "at_least", "of")


class Below:
    """The faults below names and gates of one family."""

    def __init__(self, written: Written, as_first: bool = False) -> None:
        """``as_first``: as it was before overlays amended anything."""
        self._written, self._as_first = written, as_first
        self._known: dict[str, frozenset[str]] = {}

    def of(self, ref: Any) -> frozenset[str]:
        """The ids of the faults below an id or a gate as written; none for what is neither."""
        return frozenset().union(*(self._named(name) for name in _names(ref)))

    def _named(self, name: str) -> frozenset[str]:
        if name not in self._known:
            self._known[name] = frozenset()  # a ring is told elsewhere
            self._known[name] = self._find(name)
        return self._known[name]

    def _find(self, name: str) -> frozenset[str]:
        for said in dict.fromkeys((name, without_leg(name)[0])):
            if self._data("faults", said) is not None:
                return frozenset([said])
            chain, _, tap = said.partition("@")
            if (data := self._data("chains", chain)) is not None:
                return self._up_to(data, tap)
            for section, of in (("events", None), ("symptoms", "when")):
                if (data := self._data(section, said)) is not None:
                    return self.of(data if of is None else data.get(of))
        return frozenset()

    def _up_to(self, chain: dict[str, Any], tap: str) -> frozenset[str]:
        """What a chain is dead of by a tap; by its end where none is named."""
        found = self.of(chain.get("starts_at"))
        elements = chain.get("elements")
        for element in elements if isinstance(elements, list) else ():
            if isinstance(element, dict):
                found |= self.of(element.get("faults"))
                if element.get("tap") == tap:
                    break
        return found

    def _data(self, section: str, name: str) -> dict[str, Any] | None:
        for entries in (self._written.entries, self._written.retired):
            entry = entries[section].get(name)
            data = None if entry is None else entry.first() if self._as_first else entry.data
            if isinstance(data, dict):
                return data
        return None


def _names(ref: Any) -> Iterator[str]:
    """Every id that an id, a list or a gate as written names."""
    if isinstance(ref, str):
        yield ref
    elif isinstance(ref, list):
        for member in ref:
            yield from _names(member)
    elif isinstance(ref, dict):
        for gate in GATES:
            yield from _names(ref.get(gate))
