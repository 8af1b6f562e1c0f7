"""What an overlay puts in the place of what: entries that stand in for others, by what they are for.

A check is told by the faults behind its outcomes, a symptom by its event, an action by the faults that it corrects
instead, a condition by the steps that need it instead, a component by its name or by the modes of its faults.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Entry
from faulttree.book.positions import Position

SECTIONS = ("checks", "actions", "conditions", "components", "symptoms")

_SAYS_WHAT_FOR = {"checks": "outcomes", "symptoms": "when"}
"""Fields by which an entry of the book comes to stand for something else, where an overlay amends them."""


def stand_ins(written: Written) -> Iterator[tuple[Item[Any], Entry, Entry, Position]]:
    """Each entry that stands in for another, new or amended so by an overlay: the item, its entry, the other entry.

    With it, where an overlay made it so.
    """
    below = Below(written)
    for section in SECTIONS:
        entries = written.entries[section]
        known = [old for old in (*entries.values(), *written.retired[section].values()) if isinstance(old.data, dict)]
        gone = [old for old in known if is_gone(written, old)]
        put = dict(_put_for(written)) if section == "actions" else {}
        for item in written.ids(section).values():
            entry = entries[item.id]
            others = (old for old in _replaceable(entry, known, gone) if old is not entry)
            found = {old.id: old for old in others if _stands_in(written, entry, old, below)}
            found |= {old.id: old for old in known if (item.id, old.id) in put}
            yield from (
                (item, entry, old, put.get((item.id, old.id)) or _place(item, entry, old)) for old in found.values()
            )


def _put_for(written: Written) -> Iterator[tuple[tuple[str, str], Position]]:
    """Repairs that an overlay put for others, fault by fault: the one that mends it now, one that no longer does."""
    for fault in written.entries["faults"].values():
        where = [one.fields["corrected_by"] for one in fault.amendments if "corrected_by" in one.fields]
        if where:
            now = names_in(fault.data, "corrected_by")
            before = {name for one in fault.amendments for name in names_in(one.before, "corrected_by")}
            pairs = ((new, old) for new in now if new not in before for old in before if old not in now)
            yield from ((pair, where[-1]) for pair in pairs)


def _replaceable(entry: Entry, known: Sequence[Entry], gone: Sequence[Entry]) -> Iterable[Entry]:
    """What an entry may stand in for: a new one for all of lower layers, an amended one of the book for what is gone.

    Where no overlay changes anything that is nothing, and each reading of a book asks for it.
    """
    if entry.layer:
        return (old for old in known if old.layer < entry.layer)
    field = _SAYS_WHAT_FOR.get(entry.section)
    amended = field is None or any(field in amendment.fields for amendment in entry.amendments)
    return gone if amended else ()


def is_gone(written: Written, old: Entry) -> bool:
    """Whether it is retired, or an overlay took it from view, or of a component all that could fail of it."""
    if any(field in amendment.fields for amendment in old.amendments for field in ("fitted", "proposed")):
        return True
    if old.id in written.retired[old.section]:
        return True
    if (
        old.section == "components"
        and written.retired["faults"]
        and not any(_of(name, old.id) for name in written.entries["faults"])
    ):
        return any(_of(name, old.id) for name in written.retired["faults"])
    return False


def _of(fault: str, component: str) -> bool:
    return fault.partition(".")[0] == component


def _stands_in(written: Written, entry: Entry, old: Entry, below: Below) -> bool:
    gone = is_gone(written, old)
    if entry.section == "checks":
        if is_asked(entry) and not gone:
            return False
        if _events(entry.data) and _events(entry.data) == _events(old.data):
            return True
        return gone and not finds(entry.data, below).isdisjoint(finds(old.data, below))
    if entry.section == "symptoms":
        one, other = entry.data.get("when"), old.data.get("when")
        if canonical(one) == canonical(other):
            return True
        now, was = below.of(one), below.of(other)
        return bool(was) and (was <= now if entry.layer and not gone else gone and (half(was, now) or half(now, was)))
    if entry.section == "components":
        same_name = str(entry.data.get("name")).casefold() == str(old.data.get("name")).casefold()
        shared = half(_modes(written, old.id), _modes(written, entry.id))
        return bool(entry.layer) and gone and (same_name or shared)
    parts = _parts(written, entry.id) & _parts(written, old.id) if gone and entry.section == "actions" else ()
    return (bool(entry.layer) and bool(parts)) or _put_instead(written, entry, old)


def is_asked(entry: Entry) -> bool:
    """Whether it asks what the pilot saw then: nobody goes near the gear for it."""
    return bool(entry.data.get("kind") == "ask" and entry.data.get("about", "squawk") == "squawk")


def _place(item: Item[Any], entry: Entry, old: Entry) -> Position:
    """Where an overlay made an entry stand in for another: where it wrote the one, amended it, or retired the other."""
    if entry.layer:
        return item.spots.key()
    if entry.amendments:
        return entry.amendments[-1].where
    return old.retired_at or item.spots.key()


def half(of: frozenset[str], there: frozenset[str]) -> bool:
    """Whether half of these, one at least, are there too."""
    return bool(of) and 2 * len(of & there) >= len(of)


def finds(data: Any, below: Below) -> frozenset[str]:
    """The faults that may lie behind an outcome of a check."""
    outcomes = data.get("outcomes")
    said = outcomes.values() if isinstance(outcomes, dict) else ()
    return below.of([one.get("when") for one in said if isinstance(one, dict)])


def _parts(written: Written, action: str) -> frozenset[str]:
    """The parts of which an action corrects faults, or did."""
    faults = (*written.entries["faults"].values(), *written.retired["faults"].values())
    said = ((fault, data) for fault in faults for data in (fault.data, *(a.before for a in fault.amendments)))
    return frozenset(fault.id.partition(".")[0] for fault, data in said if action in names_in(data, "corrected_by"))


def _put_instead(written: Written, entry: Entry, old: Entry) -> bool:
    """Whether some entry named the old one, and an overlay made it name the new one instead, or retired the old."""
    fields = ("corrected_by",) if entry.section == "actions" else ("needs", "implies", "first")
    users = ("faults",) if entry.section == "actions" else ("checks", "actions", "conditions")
    gone = old.id in written.retired[old.section]
    for section in users:
        for user in written.entries[section].values():
            for field in fields:
                now, before = names_in(user.data, field), [names_in(a.before, field) for a in user.amendments]
                named = any(old.id in names for names in before)
                new = not any(entry.id in names for names in before)
                if entry.id in now and new and named and (gone or old.id not in now):
                    return True
    return False


def _events(data: Any) -> frozenset[str]:
    """What the outcomes of a check stand for, as written; a gate over one thing is that thing."""
    outcomes = data.get("outcomes") if isinstance(data, dict) else None
    said = outcomes.values() if isinstance(outcomes, dict) else ()
    return frozenset(canonical(one["when"]) for one in said if isinstance(one, dict) and one.get("when"))


def canonical(when: Any) -> str:
    """What an outcome stands for as one text: a gate over one thing is that thing."""
    while isinstance(when, dict) and len(when) == 1 and (only := _only_member(when)) is not None:
        when = only
    return json.dumps(when, sort_keys=True)


def _only_member(gate: dict[str, Any]) -> Any:
    name, of = next(iter(gate.items()))
    return of[0] if name in ("any_of", "all_of") and isinstance(of, list) and len(of) == 1 else None


def _modes(written: Written, component: str) -> frozenset[str]:
    ids = (*written.entries["faults"], *written.retired["faults"])
    return frozenset(name.partition(".")[2] for name in ids if name.partition(".")[0] == component)


def names_in(data: Any, field: str) -> list[str]:
    """The names in a list of an entry as written; none where it has no such list."""
    value = data.get(field) if isinstance(data, dict) else None
    return [name for name in value if isinstance(name, str)] if isinstance(value, list) else []
