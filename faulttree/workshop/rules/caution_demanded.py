"""What is dangerous by its nature has a caution: jacks, a running engine, fluid under pressure, a spring.

A condition that jacks the aircraft, runs the engine, puts the system under pressure, cranks or unlocks shows a WARNING,
its own or one of what it implies. Equipment that only hazards use makes a hazard of whatever else uses it. A part that
stores energy (a spring, an accumulator, a bottle, a strut) has a caution of its own, because it is shown with every
step on the part and nobody has to think of it again. Which words tell of either stands in the section `book`.

Passes::

    components:
      strut: {name: Shock strut, ata: 32-10, cautions: [jacks-slip]}

Fails::

    components:
      strut: {name: Shock strut, ata: 32-10}
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.positions import ERROR, Problem
from faulttree.book.standing import with_implied
from faulttree.workshop.subject import Subject

ID = "caution-demanded"
SEVERITY = ERROR


def check(subject: Subject) -> Iterator[Problem]:
    """Looks at components, conditions, and the equipment of checks and actions."""
    written = subject.written
    yield from _components(written)
    yield from _conditions(written)
    dangerous = _used_by_hazards_alone(written)
    steps: list[Item[Any]] = [*written.checks.values(), *written.actions.values()]
    for item in steps:
        stands = _with_implied(item.form.needs, written)
        for index, name in enumerate(item.form.equipment):
            if name in dangerous and not dangerous[name] & stands:
                what = f"{item.noun} `{item.id}` uses `{name}`, which only hazards use, and needs none of them"
                right = f"add {' or '.join(f'`{one}`' for one in sorted(dangerous[name]))} to its `needs`"
                yield Problem(item.spots.value("equipment", index), what, right, ID)


def _components(written: Written) -> Iterator[Problem]:
    stores = _any_of(written, "words_of_energy")
    for item in written.components.values():
        found = stores.search(" ".join([item.form.name, *item.form.also_called]))
        if found is not None and not item.form.cautions:
            what = f"component `{item.id}` is a {found[0].lower()}, which stores energy, and has no caution"
            yield Problem(item.spots.key(), what, "name the caution for it under `cautions`", ID)


def _conditions(written: Written) -> Iterator[Problem]:
    dangerous, moves = _used_by_hazards_alone(written), _any_of(written, "words_of_danger")
    for item in written.conditions.values():
        found = moves.search(f"{item.form.name} {item.form.set_up.words}")
        if found is not None and not _warned(item, written):
            what = f"condition `{item.id}` speaks of `{found[0]}` and shows no WARNING"
            yield Problem(item.spots.key(), what, "name a caution of level WARNING under `cautions`", ID)
        for name in item.form.equipment:
            if not item.form.hazard and name in dangerous:
                what = f"condition `{item.id}` uses `{name}`, which only hazards use, and is none"
                yield Problem(item.spots.key(), what, "add `hazard: true` and a WARNING", ID)


def _any_of(written: Written, field: str) -> re.Pattern[str]:
    """The words that the book names, with or without an s behind; what nothing has, where it names none."""
    words = [re.escape(word) for whole in written.book.values() for word in getattr(whole.form, field)]
    return re.compile(rf"(?i)\b({'|'.join(words)})s?\b" if words else "(?!)")


def _used_by_hazards_alone(written: Written) -> dict[str, set[str]]:
    """Equipment that only hazards of the book itself use, by these; what an overlay's conditions do changes nothing."""
    users: dict[str, list[Item[Any]]] = {}
    for item in written.conditions.values():
        if not written.entries["conditions"][item.id].layer:
            for name in item.form.equipment:
                users.setdefault(name, []).append(item)
    return {name: {i.id for i in items} for name, items in users.items() if all(i.form.hazard for i in items)}


def _with_implied(needs: Any, written: Written) -> set[str]:
    conditions: dict[str, Any] = {name: item.form for name, item in written.conditions.items()}
    return set(with_implied(needs, conditions))


def _warned(item: Item[Any], written: Written) -> bool:
    stands = _with_implied([item.id], written)
    shown = {caution for name in stands for caution in written.conditions[name].form.cautions}
    return any(written.cautions[name].form.level == "WARNING" for name in shown if name in written.cautions)
