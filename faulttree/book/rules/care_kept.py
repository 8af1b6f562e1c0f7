"""What an overlay puts in the place of a retired entry stops, wants and is followed by as much.

Cautions are words; that nothing is driven after "it is solid", that a breaker goes in once, after a look and by two
people is what the program itself keeps. A check that finds what a retired one found stops what that stopped, outcome
by outcome; a repair of what a retired one mended is done as seldom, by as many and by whom the book says, after
something was looked at and with the same checks due after it; a symptom tells the pilot as much.

Passes::

    actions:
      oil-lock: {retires: true, reason: another can}
      grease-lock:
        name: Grease the lock
        minutes: 10
        needs: [on-jacks]
        each_leg: true
        follow_up: [look-at-lock]
        basis: estimate
    faults:
      lock.dry: {amends: true, corrected_by: [grease-lock]}

Fails::

    actions:
      oil-lock: {retires: true, reason: another can}
      grease-lock: {name: Grease the lock, minutes: 10, needs: [on-jacks], each_leg: true, basis: estimate}
    faults:
      lock.dry: {amends: true, corrected_by: [grease-lock]}
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from faulttree.book.below import Below
from faulttree.book.items import Item, Written
from faulttree.book.merge import Entry
from faulttree.book.positions import Problem
from faulttree.book.sections import noun
from faulttree.book.sentences import gone
from faulttree.book.standing import with_implied
from faulttree.book.standins import finds, half, is_asked, is_gone, names_in, stand_ins

ID = "care-kept"
MOST_NAMED = 5
"""Places named in which a stand-in is missing."""

Told = Iterator[tuple[str, str]]


def check(written: Written) -> Iterator[Problem]:
    """Holds every entry that stands in for a retired one against that."""
    below = Below(written)
    for item, entry, old, where in stand_ins(written):
        # A repair that some fault is mended by no more is told by that fault, whatever else it is for.
        looks = _LOOKS.get(entry.section) if is_gone(written, old) or entry.section == "actions" else None
        for what, right in looks(written, item, old, below) if looks else ():
            told = f"{item.noun} `{item.id}` stands in for {noun(old.section)} `{old.id}` and {what}"
            yield Problem(where, told, right, ID)
    yield from _stopping(written, below)
    yield from _dropped(written)


def _stopping(written: Written, below: Below) -> Iterator[Problem]:
    """A look or test of an overlay that finds what another one stops work for, and stops less."""
    entries = written.entries["checks"].values()
    stops = [
        (entry, name, below.of(said.get("when")), set(names_in(said, "bars")))
        for entry in entries for name, said in _results(entry) if names_in(said, "bars")
    ]  # fmt: skip
    for item in written.checks.values():
        mine = written.entries["checks"][item.id]
        for name, said in _results(mine) if mine.layer and not is_asked(mine) else ():
            found = below.of(said.get("when"))
            for entry, result, faults, barred in stops:
                lost = sorted(barred - set(item.form.outcomes[name].bars) - set(written.retired["conditions"]))
                if lost and entry.layer < mine.layer and half(found, faults):
                    what = f"`{name}` of check `{item.id}` finds what `{result}` of `{entry.id}` stops work for"
                    until = next(names_in(said, "until") for one, said in _results(entry) if one == result)
                    lifted = f", until: [{', '.join(until)}]" if until else ""
                    right = f"add to outcome `{name}`: `bars: [{', '.join(lost)}]{lifted}`"
                    yield Problem(item.spots.value("outcomes", name), what, right, ID)
                    break


def _results(entry: Entry) -> list[tuple[str, dict[str, Any]]]:
    """Results that stand for something, as written."""
    outcomes = entry.data.get("outcomes") if isinstance(entry.data, dict) else None
    said = outcomes.items() if isinstance(outcomes, dict) else ()
    return [(name, one) for name, one in said if isinstance(one, dict) and one.get("when")]


def _dropped(written: Written) -> Iterator[Problem]:
    """Who named a retired check before or after itself names one that stands in for it, where one does."""
    instead: dict[str, set[str]] = {}
    for item, entry, old, _ in stand_ins(written):
        if entry.section == "checks" and old.id in written.retired["checks"] and not is_asked(entry):
            instead.setdefault(old.id, set()).add(item.id)
    for section in ("checks", "actions") if instead else ():
        for item in written.ids(section).values():
            for amendment in written.entries[section][item.id].amendments:
                for field in (f for f in ("after", "follow_up") if f in amendment.fields):
                    now = set(getattr(item.form, field))
                    for gone_one in set(names_in(amendment.before, field)) & set(instead):
                        if not now & instead[gone_one]:
                            what = f"`{field}` of {item.noun} `{item.id}` named `{gone_one}`, and nothing in its place"
                            right = f"add to it: {' or '.join(sorted(instead[gone_one]))}"
                            yield Problem(amendment.fields[field], what, right, ID)


def _check(written: Written, item: Item[Any], old: Entry, below: Below) -> Told:
    entry = written.entries["checks"][item.id]
    asked = is_asked(entry)
    if not asked and half(finds(old.data, below), finds(entry.data, below)):
        yield from _hands(item, old)
    after = set(names_in(old.data, "after")) - set(written.retired["checks"]) - set(item.form.after)
    if after and not asked:
        yield "comes after less", f"add to its `after`: {', '.join(sorted(after))}"
    was = old.data.get("outcomes")
    for name, outcome in was.items() if isinstance(was, dict) else ():
        barred = set(names_in(outcome, "bars")) - set(written.retired["conditions"])
        faults = below.of(outcome.get("when")) if isinstance(outcome, dict) else frozenset()
        for mine, said in written.entries["checks"][item.id].data["outcomes"].items():
            if barred and isinstance(said, dict) and not faults.isdisjoint(below.of(said.get("when"))):
                lost = sorted(barred - set(item.form.outcomes[mine].bars))
                if lost:
                    right = f"add to its outcome `{mine}`: `bars: [{', '.join(lost)}]`"
                    yield f"stops less with `{mine}` than that with `{name}`", right


def _action(written: Written, item: Item[Any], old: Entry, below: Below) -> Told:
    yield from _hands(item, old)
    if old.data.get("once") is True and not item.form.once:
        yield "would be proposed again and again", "write `once: true`"
    seen = names_in(old.data, "after_any")
    if seen and not item.form.after_any:
        yield "is proposed with nothing looked at", f"write `after_any: [{', '.join(seen)}]`"
    due = set(names_in(old.data, "follow_up")) - set(written.retired["checks"]) - set(item.form.follow_up)
    if due:
        yield "is followed by less", f"add to its `follow_up`: {', '.join(sorted(due))}"
    if old.data.get("who") and gone(old.data["who"], item.form.who):
        yield "is not left to whom that was left to", f"write `who: {old.data['who']}`"


def _condition(written: Written, item: Item[Any], old: Entry, below: Below) -> Told:
    yield from _hands(item, old)
    conditions: dict[str, Any] = {name: one.form for name, one in written.conditions.items()}
    brings = set(with_implied([name for name in names_in(old.data, "implies") if name in conditions], conditions))
    missing = brings - set(with_implied([item.id], conditions))
    if missing:
        yield "brings about less", f"add to its `implies`: {', '.join(sorted(missing))}"
    for field in ("excludes", "not_while", "equipment"):
        lost = set(names_in(old.data, field)) - set(written.retired["conditions"]) - set(getattr(item.form, field))
        if lost:
            yield f"has fewer `{field}`", f"add to its `{field}`: {', '.join(sorted(lost))}"
    for flag in ("hazard", "kept_to_last"):
        if old.data.get(flag) is True and not getattr(item.form, flag):
            yield f"is not `{flag}` as that is", f"write `{flag}: true`"
    barred = list(_named_by(written, old.id, item.id))
    if barred:
        more = f" and {len(barred) - MOST_NAMED} more" if len(barred) > MOST_NAMED else ""
        right = f"name `{item.id}` there too: {', '.join(barred[:MOST_NAMED])}{more}"
        yield "is not stopped or kept off where that was", right


def _named_by(written: Written, old: str, new: str) -> Iterator[str]:
    """What stops or keeps off a condition and not the one in its place."""
    for name, check in written.entries["checks"].items():
        outcomes = check.data.get("outcomes") if isinstance(check.data, dict) else None
        for outcome, said in outcomes.items() if isinstance(outcomes, dict) else ():
            barred = names_in(said, "bars")
            if old in barred and new not in barred:
                yield f"`bars` of {name}={outcome}"
    for name, condition in written.entries["conditions"].items():
        for field in ("excludes", "not_while"):
            named = names_in(condition.data, field)
            if old in named and new not in named and name != new:
                yield f"`{field}` of {name}"


def _symptom(written: Written, item: Item[Any], old: Entry, below: Below) -> Told:
    lost = [line for line in names_in(old.data, "pilot_advice") if line not in item.form.pilot_advice]
    if lost:
        yield "tells the pilot less", f"add to its `pilot_advice`: {'; '.join(lost)}"


def _hands(item: Item[Any], old: Entry) -> Told:
    people = old.data.get("people")
    if isinstance(people, int) and item.form.people < people:
        yield "is left to fewer people", f"write `people: {people}`"


_LOOKS: dict[str, Callable[[Written, Item[Any], Entry, Below], Told]] = {
    "checks": _check, "actions": _action, "symptoms": _symptom, "conditions": _condition,
}  # fmt: skip
