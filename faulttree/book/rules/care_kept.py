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
from faulttree.book.standins import finds, half, is_gone, names_in, place, stand_ins

ID = "care-kept"

Told = Iterator[tuple[str, str]]


def check(written: Written) -> Iterator[Problem]:
    """Holds every entry that stands in for a retired one against that."""
    below = Below(written)
    for item, entry, old in stand_ins(written):
        looks = _LOOKS.get(entry.section) if is_gone(written, old) else None
        for what, right in looks(written, item, old, below) if looks else ():
            told = f"{item.noun} `{item.id}` stands in for {noun(old.section)} `{old.id}` and {what}"
            yield Problem(place(item, entry, old), told, right, ID)


def _check(written: Written, item: Item[Any], old: Entry, below: Below) -> Told:
    if half(finds(old.data, below), finds(written.entries["checks"][item.id].data, below)):
        yield from _hands(item, old)
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


def _symptom(written: Written, item: Item[Any], old: Entry, below: Below) -> Told:
    lost = [line for line in names_in(old.data, "pilot_advice") if line not in item.form.pilot_advice]
    if lost:
        yield "tells the pilot less", f"add to its `pilot_advice`: {'; '.join(lost)}"


def _hands(item: Item[Any], old: Entry) -> Told:
    people = old.data.get("people")
    if isinstance(people, int) and item.form.people < people:
        yield "is left to fewer people", f"write `people: {people}`"


_LOOKS: dict[str, Callable[[Written, Item[Any], Entry, Below], Told]] = {
    "checks": _check, "actions": _action, "symptoms": _symptom,
}  # fmt: skip
