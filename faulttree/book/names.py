"""Every name that an entry may use for another, with and without a leg, and what it stands for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.legs import LEGGED, Legs, with_leg, without_leg
from faulttree.book.merge import Entry
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Problem
from faulttree.book.references import OPTION, TAP, THING, Reference, references, things
from faulttree.book.sections import SECTIONS, THINGS, a_noun, noun


@dataclass(frozen=True, slots=True)
class Named:
    """What a name stands for: an entry, the leg that the name picks, the legs there are, the tap of a chain."""

    section: str
    id: str
    leg: str | None
    legs: tuple[str, ...]
    tap: str | None = None

    @property
    def written_name(self) -> str:
        """The name without a leg."""
        return f"{self.id}@{self.tap}" if self.tap else self.id


@dataclass(slots=True)
class Names:
    """Names by kind of entry. ``gone`` are names of retired entries, which drop out like what is not fitted.

    ``looked_at`` are the faults, events, taps and symptoms that some entry looks at.
    """

    legs: Legs
    by_kind: dict[str, dict[str, Named]] = field(default_factory=dict)
    gone: dict[str, set[str]] = field(default_factory=dict)
    unsure: set[str] = field(default_factory=set)
    written_faults: set[str] = field(default_factory=set)
    looked_at: set[str] = field(default_factory=set)

    def find(self, kind: str, name: str) -> Named | None:
        """What a name stands for, if it is known."""
        return self.by_kind[kind].get(name)

    def is_gone(self, kind: str, name: str) -> bool:
        """Whether a name belongs to an entry that an overlay retired."""
        gone = self.gone.get(kind, ())
        return bool(gone) and any(form in gone for form in _forms(name))

    def may_exist(self, name: str) -> bool:
        """Whether a name may be defined in a part that could not be read or used.

        A broken component leaves it open on which legs its faults stand, not which faults are written.
        """
        fault, _ = without_leg(name)
        if "." in name and "@" not in name and fault not in self.written_faults:
            return name in self.unsure or fault in self.unsure
        return any(form in self.unsure for form in _forms(name))


def _forms(name: str) -> Iterator[str]:
    """A name, its entry's id, and for a fault its component, each with and without a leg."""
    base, _ = without_leg(name)
    for form in (name, base):
        yield form
        yield form.split("@", 1)[0]
        yield form.split(".", 1)[0]


def retired_as(written: Written, name: str) -> Entry | None:
    """The retired entry that a name belongs to: of which it is a leg, a tap or a fault, too."""
    for form in dict.fromkeys(_forms(name)):
        for retired in written.retired.values():
            if form in retired:
                return retired[form]
    return None


def gather(written: Written) -> tuple[Names, list[Problem]]:
    """All names, and the problem of copies by leg that meet an id written elsewhere."""
    names = Names(Legs(written), unsure=set(written.defines), written_faults=set(written.entries["faults"]))
    problems: list[Problem] = []
    for section in SECTIONS:
        names.by_kind[section] = {}
        names.gone[section] = set(written.retired[section])
        for entry_id in written.ids(section):
            legs = names.legs.of(section, entry_id)
            _add(names.by_kind[section], Named(section, entry_id, None, legs))
    _with_legs(names, written, problems)
    names.by_kind[OPTION] = {
        choice: Named(OPTION, choice, None, ()) for group in written.options.values() for choice in group.form.choices
    }
    names.by_kind[TAP] = dict(_taps(names, written))
    names.by_kind[THING] = {}
    names.gone[TAP] = names.gone["chains"]
    names.gone[THING] = set()
    for kind in (*THINGS, TAP):
        names.by_kind[THING].update(names.by_kind[kind])
        names.gone[THING] |= names.gone[kind]
    names.gone[THING] |= names.gone["components"]
    names.gone["faults"] |= names.gone["components"]
    names.looked_at = {reference.name for item in written.items() for reference in things(item)}
    _legs_not_known(names, written)
    return names, problems


def _legs_not_known(names: Names, written: Written) -> None:
    """Entries that would have legs if what they name could be used: of their copies nothing is known either."""
    users: dict[str, list[str]] = {}
    for fault in written.faults.values():
        for action in fault.form.corrected_by:
            users.setdefault(action, []).append(fault.id)
    waiting = [
        (item.id, [*(r.name for r in references(item)), *users.get(item.id, ())])
        for item in written.items()
        if getattr(item.form, "each_leg", False) is True and not names.legs.of(item.section, item.id)
    ]
    while found := {name for name, named in waiting if any(map(names.may_exist, named))} - names.unsure:
        names.unsure |= found


def _add(table: dict[str, Named], named: Named) -> None:
    table[with_leg(named.written_name, named.leg)] = named


def _with_legs(names: Names, written: Written, problems: list[Problem]) -> None:
    for section in LEGGED:
        table = names.by_kind[section]
        for named in list(table.values()):
            for leg in named.legs:
                copy = with_leg(named.id, leg)
                if copy in table:
                    where = written.ids(section)[copy].spots.key()
                    what = f"`{copy}` is also the {leg} copy of {noun(section)} `{named.id}`"
                    problems.append(Problem(where, what, "give it another id", "duplicate-id"))
                    continue
                _add(table, Named(section, named.id, leg, named.legs))


def _taps(names: Names, written: Written) -> Iterator[tuple[str, Named]]:
    for chain in written.chains.values():
        legs = names.legs.of("chains", chain.id)
        for element in chain.form.elements:
            for leg in (None, *legs) if element.tap else ():
                named = Named("chains", chain.id, leg, legs, element.tap)
                yield with_leg(named.written_name, leg), named


MOST_GUESSES = 50
"""Unknown names for which a near one is looked for; behind so many stands one cause, and each look takes its time."""

_WANTED = {THING: "fault, event, symptom or tap", TAP: "tap of a chain", OPTION: "option"}


def check_references(written: Written, names: Names) -> list[Problem]:
    """References to what does not exist, or to a leg that is not there."""
    problems: list[Problem] = []
    guesses = iter(range(MOST_GUESSES))
    for item in written.items():
        if item.section == "faults":
            problems.extend(_component_of(item, names, guesses))
        for reference in references(item):
            problem = _check(item, reference, names, guesses)
            if problem is not None:
                problems.append(problem)
        if getattr(item.form, "each_leg", False) is True and not names.legs.of(item.section, item.id):
            what = f"`each_leg` is set, but nothing that {item.noun} `{item.id}` names has legs"
            right = "leave it out, or list the legs: `each_leg: [left, right]`"
            if item.section == "actions" and (mended := _once_mended(written, item.id)):
                what = f"all that action `{item.id}` mends was retired: {listed(mended)}"
                right = f"retire it too: `{item.id}: {{retires: true, reason: …}}`"
            # As long as it names what is unknown, nobody knows what it is written for.
            sound = all(names.find(r.kind, r.name) is not None for r in references(item))
            if sound and not names.may_exist(item.id):
                problems.append(Problem(item.spots.key("each_leg"), what, right, "legs"))
    return problems


def _once_mended(written: Written, action: str) -> list[str]:
    """The retired faults that name an action."""
    retired = written.retired["faults"].values()
    return [one.id for one in retired if isinstance(one.data, dict) and action in (one.data.get("corrected_by") or ())]


def _component_of(item: Item[Any], names: Names, guesses: Iterator[int]) -> Iterator[Problem]:
    component = item.id.split(".", 1)[0]
    known = names.by_kind["components"]
    found = known.get(component)
    if names.may_exist(component) or names.is_gone("components", component):
        return
    if found is not None and found.leg is None:
        return
    if found is not None:
        what = f"`{component}` is one leg of `{found.id}`; a fault is written once for all legs"
        yield Problem(item.spots.key(), what, f"begin the id with `{found.id}.`", "legs")
        return
    right = _guess(component, known, f"write `component.mode`; known components: {listed(known)}", guesses)
    yield Problem(item.spots.key(), f"there is no component `{component}`", right, "unknown-id")


def _guess(name: str, known: Iterable[str], otherwise: str, guesses: Iterator[int], unsure: Iterable[str] = ()) -> str:
    return otherwise if next(guesses, None) is None else did_you_mean(name, [*known, *sorted(unsure)], otherwise)


def _check(item: Item[Any], reference: Reference, names: Names, guesses: Iterator[int]) -> Problem | None:
    named = names.find(reference.kind, reference.name)
    if named is not None:
        return _lacking_leg(item, reference, named, names)
    if names.may_exist(reference.name) or names.is_gone(reference.kind, reference.name):
        return None
    where = item.spots.value(*reference.path)
    wanted = _WANTED.get(reference.kind) or noun(reference.kind)
    base, leg = without_leg(reference.name)
    known = names.find(reference.kind, base) if leg else None
    if known is not None:
        has = f"it has {', '.join(known.legs)}" if known.legs else "it has no legs"
        return Problem(where, f"`{base}` has no {leg} leg", has, "legs")
    for other in SECTIONS:
        if names.find(other, reference.name) is not None:
            if reference.path[0] == "follow_up":
                return None  # a rule of form sees to it
            what = f"`{reference.name}` is {a_noun(other)}"
            return Problem(where, what, f"name a {wanted}", "kind-of-entry")
    table = names.by_kind[reference.kind]
    several = [name for name in re.split(r"[;/&+\s]+", reference.name) if name != "and"]
    if len(several) > 1 and all(name in table for name in several):
        what = f"`{reference.name}` is more than one {wanted}"
        return Problem(where, what, f"part them by a comma: {', '.join(several)}", "unknown-id")
    # An entry that has an error of its own may well be the one that is meant; to name another would mislead.
    component = reference.name.partition(".")[0]
    of_it = [name for name in table if "." in reference.name and name.partition(".")[0] == component]
    known_there = f"of {component} there are: {listed(of_it)}" if of_it else f"known: {listed(table)}"
    right = _guess(reference.name, table, known_there, guesses, names.unsure)
    return Problem(where, f"there is no {wanted} `{reference.name}`", right, "unknown-id")


def _lacking_leg(item: Item[Any], reference: Reference, named: Named, names: Names) -> Problem | None:
    """In an entry with legs a name with legs means the same leg, which must be there."""
    own = names.legs.of(item.section, item.id)
    if not own or not named.legs or named.leg is not None or reference.kind == OPTION:
        return None
    lacking = [leg for leg in own if leg not in named.legs]
    if not lacking:
        return None
    what = f"`{reference.name}` has no {' and no '.join(lacking)} leg, but {item.noun} `{item.id}` is written for it"
    right = f"list the legs that both have: `each_leg: [{', '.join(leg for leg in own if leg in named.legs)}]`"
    if item.section == "faults":
        right = f"let `{reference.name}` have that leg too"
    return Problem(item.spots.value(*reference.path), what, right, "legs")
