"""Books made in a test from a few items; whatever is not given is empty or a default.

``make_book`` takes any section of a book as a list of its items. The one-line makers beside it fill what a
test does not care about::

    book = make_book(
        faults=[fault("pump.worn", probability=0.1), fault("valve.stuck")],
        events=[gate("no-flow", "any_of", "pump.worn", "valve.stuck")],
        checks=[check("feel-pipe", cold="no-flow")],
    )
"""

from __future__ import annotations

from collections.abc import Iterable
from graphlib import TopologicalSorter
from typing import Any

from faulttree.book.model import (
    Action,
    Book,
    Caution,
    Check,
    Circumstance,
    Component,
    Condition,
    Defaults,
    Event,
    Fault,
    Limit,
    OpeningQuestion,
    Option,
    Outcome,
    Source,
    Symptom,
)


def make_book(
    faults: Iterable[Fault] = (),
    events: Iterable[Event] = (),
    symptoms: Iterable[Symptom] = (),
    checks: Iterable[Check] = (),
    actions: Iterable[Action] = (),
    conditions: Iterable[Condition] = (),
    circumstances: Iterable[Circumstance] = (),
    cautions: Iterable[Caution] = (),
    limits: Iterable[Limit] = (),
    options: Iterable[Option] = (),
    sources: Iterable[Source] = (),
    components: Iterable[Component] = (),
    **more: Any,
) -> Book:
    """A book of these items. Events are put in order; each fault's component is made unless it is given.

    ``more`` are the other fields of a book: ``family``, ``fitted``, ``opening``, ``defaults`` …
    """
    made = {item.id: item for item in faults}
    given = {item.id: item for item in components}
    parts = {f.component: Component(f.component, f.component.replace("-", " ")) for f in made.values()}
    opening: tuple[OpeningQuestion, ...] = ()
    fields: dict[str, Any] = {
        "family": "made-up", "name": "Made-up gear", "version": "1", "digest": "", "fitted": {}, "assumed": (),
        "equipment": {}, "words": {}, "opening": opening, "standing_cautions": (), "defaults": Defaults(),
    }  # fmt: skip
    return Book(
        faults=made,
        events=in_order(events),
        symptoms={item.id: item for item in symptoms},
        checks={item.id: item for item in checks},
        actions={item.id: item for item in actions},
        conditions={item.id: item for item in conditions},
        circumstances={item.id: item for item in circumstances},
        cautions={item.id: item for item in cautions},
        limits={item.id: item for item in limits},
        options={item.id: item for item in options},
        sources={item.id: item for item in sources},
        components={**parts, **given},
        **{**fields, **more},
    )


def in_order(events: Iterable[Event]) -> dict[str, Event]:
    """Events by id, each after all that it looks at, as a book has them."""
    named = {event.id: event for event in events}
    order = TopologicalSorter({name: event.of for name, event in named.items()}).static_order()
    return {name: named[name] for name in order if name in named}


def fault(name: str, /, **more: Any) -> Fault:
    """A fault ``component.mode`` (of a component of its own, where there is no dot); probability 0.01 unless given."""
    if "rate" not in more:
        more.setdefault("probability", 0.01)
    fields = {"component": name.split(".", 1)[0], "leg": None, "name": name, **more}
    return Fault(id=name, **fields)


def gate(name: str, kind: str, *of: str, count: int = 0) -> Event:
    """The event ``name``: ``any_of``, ``all_of``, ``at_least`` ``count`` or ``not`` of the others."""
    return Event(name, name, kind, of, count)


def symptom(name: str, when: str, /, *says: str, **more: Any) -> Symptom:
    """A symptom with the words that pilots use for it; no chance of an unlisted cause unless given."""
    fields = {"name": name, "unlisted": 0.0, "noticed": 0.9, "proof": "proof", **more}
    return Symptom(id=name, when=when, says=says, **fields)


def check(name: str, /, *, detects: float = 0.95, **outcomes_and_more: Any) -> Check:
    """A look with an outcome for each keyword that gives a name of an event, then ``fine``.

    Keywords that are fields of a check fill that field: ``check("look", dry="no-oil", minutes=5)``.
    """
    more = {key: value for key, value in outcomes_and_more.items() if key in Check.__dataclass_fields__}
    when = {key: value for key, value in outcomes_and_more.items() if key not in more}
    shown = [Outcome(key.replace("_", "-"), key, event, detects) for key, event in when.items()]
    fields = {"name": name, "kind": "look", "about": "now", "false_alarm": 0.02, "minutes": 1.0, **more}
    return Check(id=name, outcomes=(*shown, Outcome("fine", "Fine", None, 1.0)), **fields)


def action(name: str, /, *corrects: str, **more: Any) -> Action:
    """An action that corrects these faults, in an hour and 95 times of 100 unless given."""
    return Action(id=name, corrects=corrects, **{"name": name, "effective": 0.95, "minutes": 60.0, **more})


def condition(name: str, /, set_up: float = 1.0, restore: float = 1.0, **more: Any) -> Condition:
    """A condition with its minutes to set up and to restore."""
    words = {"name": name, "set_up": f"Set up {name}", "restore": f"Restore {name}"}
    return Condition(id=name, set_up_minutes=set_up, restore_minutes=restore, **{**words, **more})
