"""Which entries have legs, and what a leg makes of their ids and texts.

A component with legs is written once. Its faults have its legs; so has an event, chain, check or action
with ``each_leg``. ``each_leg: true`` means the legs of what the entry names.
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree.book.items import Written
from faulttree.book.model import LEGS
from faulttree.book.references import things

PLACEHOLDER = "{leg}"
ANY = "any"

Entry = tuple[str, str]
"""An entry by its section and id."""

LEGGED = ("components", "faults", "events", "chains", "checks", "actions")
"""Sections whose entries may have legs."""


def with_leg(written_id: str, leg: str | None) -> str:
    """The id of one leg's copy: ``part-left.worn``, ``circuit-left@tap``, ``look-at-part-left``."""
    if leg is None:
        return written_id
    for sign in ".@":
        if sign in written_id:
            before, after = written_id.split(sign, 1)
            return f"{before}-{leg}{sign}{after}"
    return f"{written_id}-{leg}"


def without_leg(name: str) -> tuple[str, str | None]:
    """The written id and the leg that ``name`` may pick; whether both exist is another question."""
    for sign in ".@":
        if sign in name:
            before, after = name.split(sign, 1)
            base, leg = without_leg(before)
            return f"{base}{sign}{after}", leg
    for leg in LEGS:
        if name.endswith(f"-{leg}"):
            return name[: -len(leg) - 1], leg
    return name, None


def leg_text(text: str, leg: str | None) -> str:
    """A text with its ``{leg}`` filled in; without a leg the placeholder goes."""
    if PLACEHOLDER not in text:
        return text
    filled = text.replace(PLACEHOLDER, leg) if leg else " ".join(text.replace(PLACEHOLDER, "").split())
    return filled[:1].upper() + filled[1:] if text.startswith(PLACEHOLDER) else filled


def leg_name(name: str, leg: str | None) -> str:
    """A name with its ``{leg}`` filled in, or with the leg after a comma."""
    if leg is None or PLACEHOLDER in name:
        return leg_text(name, leg)
    return f"{name}, {leg}"


def any_leg_name(name: str) -> str:
    """A name for whichever leg it is."""
    return leg_text(name, ANY) if PLACEHOLDER in name else f"{name}, any leg"


class Legs:
    """The legs of every entry, worked out once: from what states them on to what names it."""

    def __init__(self, written: Written) -> None:
        stated = dict(_stated(written))
        named_by: dict[Entry, list[Entry]] = {}
        for entry, named in _names_for_legs(written):
            named_by.setdefault(named, []).append(entry)
        found: dict[Entry, set[str]] = {}
        waiting = list(stated.items())
        while waiting:
            entry, legs = waiting.pop()
            if not legs <= found.setdefault(entry, set()):
                found[entry] |= legs
                waiting.extend((user, legs) for user in named_by.get(entry, ()) if user not in stated)
        self._legs = {entry: tuple(leg for leg in LEGS if leg in legs) for entry, legs in found.items()}

    def of(self, section: str, entry_id: str) -> tuple[str, ...]:
        """The legs of an entry, in the usual order; empty for one without."""
        return self._legs.get((section, entry_id), ())


def _stated(written: Written) -> Iterator[tuple[Entry, set[str]]]:
    """Entries that say which legs they have."""
    for component in written.components.values():
        yield ("components", component.id), set(component.form.legs or ())
    for section in LEGGED:
        for item in written.ids(section).values():
            each_leg = getattr(item.form, "each_leg", False)
            if isinstance(each_leg, list):
                yield (section, item.id), set(each_leg)


def _names_for_legs(written: Written) -> Iterator[tuple[Entry, Entry]]:
    """Entries whose legs are those of what they name, each with what it names."""
    base = _base_names(written)
    for fault in written.faults.values():
        yield ("faults", fault.id), ("components", fault.id.split(".", 1)[0])
        for name in fault.form.corrected_by:
            action = written.actions.get(name)
            if action is not None and action.form.each_leg is True:
                yield ("actions", name), ("faults", fault.id)
    for section in ("events", "chains", "checks"):
        for item in written.ids(section).values():
            if item.form.each_leg is True:
                for reference in things(item):
                    if reference.name in base:
                        yield (section, item.id), base[reference.name]


def _base_names(written: Written) -> dict[str, Entry]:
    """Section and id of everything that can hold, by the names without a leg."""
    base: dict[str, Entry] = {}
    for section in ("faults", "events", "chains"):
        base.update({entry_id: (section, entry_id) for entry_id in written.ids(section)})
    for chain in written.chains.values():
        base.update({f"{chain.id}@{e.tap}": ("chains", chain.id) for e in chain.form.elements if e.tap})
    return base
