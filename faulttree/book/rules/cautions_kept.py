"""What an overlay puts in the place of an entry shows the cautions that this entry showed.

An overlay may add cautions and never lose one; a check retired and written anew under another name would. What
stands in for another is told by what it is for: a check by the events of its outcomes, a symptom by its event, an
action by the faults that it corrects instead, a condition by the steps that need it instead, a component by its
name or by the modes of its faults. Of one that is gone a part is enough: a check that may find one of the same faults,
a symptom of half of the same causes, an action on one of the same parts, a component that fails in half of the same
ways. A question for the pilot touches nothing and stands in for none. In place of a check that is gone and found just
the same, the cautions of what that needed have to be shown too, on the new one or on what it needs.

Passes::

    checks:
      look-at-bus: {retires: true, reason: the cover is riveted now}
      measure-bus:
        name: Measure the bus
        kind: test
        minutes: 4
        needs: [master-on]
        cautions: [hot-bus]
        outcomes: {dead: {label: Dead, when: bus.dead}, live: {label: Live, otherwise: true}}
        detects: 0.9
        false_alarm: 0.1
        basis: estimate
    actions:
      fix-bus: {amends: true, follow_up: [measure-bus]}

Fails::

    checks:
      look-at-bus: {retires: true, reason: the cover is riveted now}
      measure-bus:
        name: Measure the bus
        kind: test
        minutes: 4
        needs: [master-on]
        outcomes: {dead: {label: Dead, when: bus.dead}, live: {label: Live, otherwise: true}}
        detects: 0.9
        false_alarm: 0.1
        basis: estimate
    actions:
      fix-bus: {amends: true, follow_up: [measure-bus]}
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Entry
from faulttree.book.positions import Problem
from faulttree.book.sections import noun
from faulttree.book.standing import with_implied

ID = "cautions-kept"


def check(written: Written) -> Iterator[Problem]:
    """Holds every entry that an overlay adds against those that it stands in for."""
    below = Below(written)
    for section in ("checks", "actions", "conditions", "components", "symptoms"):
        for item in written.ids(section).values():
            entry = written.entries[section][item.id]
            if entry.layer:
                for old in _before(written, entry, below):
                    yield from _lost(written, item, entry, old)


def _before(written: Written, entry: Entry, below: Below) -> Iterator[Entry]:
    """Entries of lower layers that an entry may stand in for, those retired since too."""
    for old in (*written.entries[entry.section].values(), *written.retired[entry.section].values()):
        if old.layer < entry.layer and isinstance(old.data, dict) and _stands_in(written, entry, old, below):
            yield old


def _lost(written: Written, item: Item[Any], entry: Entry, old: Entry) -> Iterator[Problem]:
    wanted, shown = set(names_in(old.data, "cautions")), set(item.form.cautions)
    if entry.section in ("checks", "actions"):
        shown |= of_conditions(written, item.form.needs)
        if _gone(written, old) and (entry.section == "actions" or _events(entry.data) == _events(old.data)):
            wanted |= of_conditions(written, names_in(old.data, "needs"))
    elif entry.section == "conditions":
        shown |= of_conditions(written, item.form.implies)
    missing = sorted(wanted - shown)
    if missing:
        what = f"{item.noun} `{item.id}` stands in for {noun(old.section)} `{old.id}` and does not show what that shows"
        yield Problem(item.spots.key(), what, f"add to its `cautions`: {', '.join(missing)}", ID)


def of_conditions(written: Written, needs: Any) -> set[str]:
    """Cautions of conditions with all that they imply, of those that an overlay retired too."""
    conditions: dict[str, Any] = {name: item.form for name, item in written.conditions.items()}
    retired, wanted = written.retired["conditions"], list(needs)
    for name in wanted:
        if name in retired:
            wanted += [other for other in names_in(retired[name].data, "implies") if other not in wanted]
    found = {caution for name in with_implied(wanted, conditions) for caution in conditions[name].cautions}
    return found.union(*(names_in(retired[name].data, "cautions") for name in wanted if name in retired))


def names_in(data: Any, field: str) -> list[str]:
    """The names in a list of an entry as written; none where it has no such list."""
    value = data.get(field) if isinstance(data, dict) else None
    return [name for name in value if isinstance(name, str)] if isinstance(value, list) else []


def _gone(written: Written, old: Entry) -> bool:
    """Whether it is retired, or an overlay took it from view."""
    hidden = any(field in amendment.fields for amendment in old.amendments for field in ("fitted", "proposed"))
    return hidden or old.id in written.retired[old.section]


def _stands_in(written: Written, entry: Entry, old: Entry, below: Below) -> bool:
    gone = _gone(written, old)
    if entry.section == "checks":
        if entry.data.get("kind") == "ask":
            return False
        if _events(entry.data) and _events(entry.data) == _events(old.data):
            return True
        return gone and not _finds(entry.data, below).isdisjoint(_finds(old.data, below))
    if entry.section == "symptoms":
        one, other = entry.data.get("when"), old.data.get("when")
        return canonical(one) == canonical(other) or (gone and _half(below.of(other), below.of(one)))
    if entry.section == "components":
        same_name = str(entry.data.get("name")).casefold() == str(old.data.get("name")).casefold()
        return gone and (same_name or _half(_modes(written, old.id), _modes(written, entry.id)))
    parts = _parts(written, entry.id) & _parts(written, old.id) if gone and entry.section == "actions" else ()
    return bool(parts) or _put_instead(written, entry, old)


def _half(of: frozenset[str], there: frozenset[str]) -> bool:
    """Whether half of these, one at least, are there too."""
    return bool(of) and 2 * len(of & there) >= len(of)


def _finds(data: Any, below: Below) -> frozenset[str]:
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
                if entry.id in now and named and (gone or old.id not in now):
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
