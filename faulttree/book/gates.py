"""Written gates and chains to named events, with legs and options worked in.

Ids that the reader makes have a slash, which no written id can have: ``check/outcome``, ``symptom/when``,
``event/1`` for a gate written inside another. Where one event is wanted and a name with legs is given,
the event "any of its legs" goes by the written name.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, TypeVar

from faulttree.book import written as w
from faulttree.book.copies import Copies, Copy, Key
from faulttree.book.fitted import Fitting
from faulttree.book.forms import Gate
from faulttree.book.items import Item, Written
from faulttree.book.legs import ANY, any_leg_name, leg_name, leg_text, with_leg
from faulttree.book.model import Event
from faulttree.book.names import Named, Names
from faulttree.book.positions import Problem
from faulttree.book.references import THING, gate_members
from faulttree.book.yamlbuild import Path

WHEN = "/when"
PART = " (part)"

T = TypeVar("T")


@dataclass(slots=True)
class Events:
    """The events of a book in the making.

    ``origin`` says which entry an event comes from, ``said`` under which written name people know it.
    """

    written: Written
    names: Names
    fitting: Fitting
    copies: Copies
    events: dict[str, Event] = field(default_factory=dict)
    origin: dict[str, Item[Any]] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    _present: dict[Key, bool] = field(default_factory=dict)
    _making: Copy | None = None

    def present(self, section: str, entry_id: str) -> bool:
        """Whether an entry is there, sound, and applies to the aircraft."""
        key = section, entry_id
        found = self._present.get(key)
        if found is None:
            found = self._present[key] = self._applies(section, entry_id)
        if self._making is not None and key in self.copies.optional:
            self._making.asked[key] = found
        return found

    def _applies(self, section: str, entry_id: str) -> bool:
        item = self.written.ids(section).get(entry_id)
        if item is None or not self.fitting.allows(item.fitted):
            return False
        return section != "faults" or self.present("components", entry_id.split(".", 1)[0])

    def copy(self, key: Hashable, make: Callable[[], T]) -> T:
        """What ``make`` makes of an entry, or has made under this key where all that it asks for was as it is here."""
        known = self.copies.of(key)
        for copy in known:
            if all(self.present(*entry) is there for entry, there in copy.asked.items()):
                for event, item, said in copy.events:
                    self.add(event, item, said)
                self.problems.extend(copy.problems)
                made: T = copy.made
                return made
        self._making, before = Copy(), len(self.problems)
        made = self._making.made = make()
        self._making.problems = self.problems[before:]
        known.append(self._making)
        self._making = None
        return made

    def add(self, event: Event, item: Item[Any], said: str) -> str:
        """Enters an event; the first of an id stays."""
        if self._making is not None:
            self._making.events.append((event, item, said))
        self.events.setdefault(event.id, event)
        self.origin.setdefault(event.id, item)
        self.said.setdefault(event.id, said)
        return event.id

    def build_all(self) -> None:
        """Enters all events and chains that apply."""
        for event in self.written.events.values():
            if self.present("events", event.id):
                for leg in self.names.legs.of("events", event.id) or (None,):
                    self.copy(("events", event.id, leg), partial(self._event, event, leg))
        for chain in self.written.chains.values():
            if self.present("chains", chain.id):
                for leg in self.names.legs.of("chains", chain.id) or (None,):
                    self.copy(("chains", chain.id, leg), partial(self._chain, chain, leg))
        for symptom in self.written.symptoms.values():
            if symptom.id in self.names.looked_at and self.present("symptoms", symptom.id):
                self._symptom(symptom)

    def _event(self, event: Item[w.EventForm], leg: str | None) -> None:
        self.gate(Spot(event, leg, with_leg(event.id, leg), leg_name(event.form.name, leg)), event.form, ())

    def _chain(self, chain: Item[w.ChainForm], leg: str | None) -> None:
        """One event per tap: dead by there, because of anything up to there."""
        name = leg_name(chain.form.name, leg)
        chain_id = with_leg(chain.id, leg)
        spot = Spot(chain, leg, chain_id, name)
        dead: list[str] = []
        if chain.form.starts_at is not None:
            dead.extend(self.ids(chain.form.starts_at, leg) or ())
        for index, element in enumerate(chain.form.elements):
            dead.extend(self.many(spot, element.faults, ("elements", index, "faults"), drop=True))
            if element.tap is not None:
                words = leg_text(element.name or element.tap, leg)
                tap = Event(f"{chain_id}@{element.tap}", f"{name}, up to {words}", "any_of", _once(dead))
                dead = [self.add(tap, chain, f"{chain.id}@{element.tap}")]
        self.add(Event(chain_id, name, "any_of", _once(dead)), chain, chain.id)

    def ids(self, name: str, leg: str | None) -> list[str] | None:
        """What a name means in an entry's copy for ``leg``: ids of faults and events, or ``None`` if not fitted.

        A name that is unknown (and reported elsewhere) means nothing.
        """
        named = self.names.find(THING, name)
        if named is None:
            return None if self.names.is_gone(THING, name) else []
        if not self.present(named.section, named.id):
            return None
        if named.section == "symptoms":
            return [named.id + WHEN]
        if not named.legs:
            return [name]
        picked = named.leg or leg
        return [with_leg(named.written_name, each) for each in named.legs if picked in (None, each)]

    def _symptom(self, symptom: Item[w.SymptomForm]) -> None:
        """The event of a symptom that another entry names."""
        spot = Spot(symptom, None, symptom.id + WHEN, symptom.form.name)
        when = symptom.form.when
        if isinstance(when, str):
            of = tuple(self.ids(when, None) or ())
            self.add(Event(spot.event_id, spot.name, "any_of", of), symptom, symptom.id)
        else:
            self.gate(spot, when, ("when",))

    def one(self, spot: Spot, ref: str | Gate, path: Path) -> str:
        """The one event or fault that ``ref`` means, made at the spot if need be."""
        if not isinstance(ref, str):
            return self.gate(spot, ref, path)
        found = self.ids(ref, spot.leg)
        if not found:
            return self.add(Event(spot.event_id, spot.name, "any_of", ()), spot.item, spot.said)
        if len(found) == 1:
            return found[0]
        named = self.names.find(THING, ref)
        event = Event(ref, self._any_leg(named) if named else ref, "any_of", tuple(found))
        return self.add(event, self._item(named) if named else spot.item, ref)

    def _item(self, named: Named) -> Item[Any]:
        item: Item[Any] = self.written.ids(named.section)[named.id]
        return item

    def _any_leg(self, named: Named) -> str:
        """The name of "any of its legs"."""
        name: str = self._item(named).form.name
        if named.section == "faults":
            component = self.written.components[named.id.split(".", 1)[0]].form.name
            return f"{any_leg_name(component)}: {leg_text(name, ANY)}"
        return any_leg_name(f"{name}, up to {named.tap}" if named.tap else name)

    def many(self, spot: Spot, refs: Sequence[str | Gate], path: Path, *, drop: bool) -> tuple[str, ...]:
        """All that a list means, legs spliced in. What is not fitted drops out, or is an error."""
        found: list[str] = []
        for index, ref in enumerate(refs):
            found.extend(self._member(spot, ref, (*path, index), drop=drop))
        return _once(found)

    def _member(self, spot: Spot, ref: str | Gate, path: Path, *, drop: bool) -> Sequence[str]:
        if not isinstance(ref, str):
            name = f"{spot.name.removesuffix(PART)}{PART}"
            inner = Spot(spot.item, spot.leg, spot.next_id(), name, spot.parts, spot.root)
            return [self.gate(inner, ref, path)]
        found = self.ids(ref, spot.leg)
        if found is None and not drop:
            what = f"`{ref}` is not fitted here, and this gate cannot do without it"
            right = "give this entry the same `fitted`, or put it in an `any_of`"
            if self.names.is_gone(THING, ref):
                what = f"`{ref}` is retired by an overlay, and this gate cannot do without it"
                right = "amend this entry too"
            self.problems.append(Problem(spot.item.spots.value(*path), what, right, "not-fitted"))
        return found or ()

    def gate(self, spot: Spot, gate: Gate, path: Path) -> str:
        """Enters a gate as the event of its spot; gates inside it become events of their own."""
        (members, where), *_ = gate_members(gate, path)
        kind = str(where[len(path)])
        if isinstance(members, list):
            of = self.many(spot, members, where, drop=kind == "any_of")
        else:
            of = _once(self._member(spot, members, where, drop=False))
        count = gate.at_least.count if gate.at_least is not None else 0
        self._enough(spot, count, of, (*path, "at_least", "count"))
        return self.add(Event(spot.event_id, spot.name, kind, of, count), spot.item, spot.said)

    def _enough(self, spot: Spot, count: int, of: tuple[str, ...], path: Path) -> None:
        if 0 < len(of) < count:
            what = f"{count} of {len(of)} can never be"
            where = spot.item.spots.value(*path)
            self.problems.append(Problem(where, what, f"write a count from 1 to {len(of)}", "at-least-count"))


@dataclass(slots=True)
class Spot:
    """Where an event is being made: in which entry, for which leg, under which id and name."""

    item: Item[Any]
    leg: str | None
    event_id: str
    name: str
    parts: list[int] = field(default_factory=lambda: [0])
    root: str | None = None

    @property
    def said(self) -> str:
        """The written name of the entry."""
        return self.item.id

    def next_id(self) -> str:
        """The id of the next gate written inside this entry's."""
        self.root = self.root or self.event_id
        self.parts[0] += 1
        return f"{self.root}/{self.parts[0]}"


def _once(ids: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ids))
