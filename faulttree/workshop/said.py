"""What an entry says, field by field, in words: rates with their unit and basis, minutes, outcomes, steps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from faulttree.book.model import (
    THE_SQUAWK,
    Action,
    Basis,
    Book,
    Check,
    Circumstance,
    Condition,
    Event,
    Fault,
    Symptom,
)
from faulttree.chances import minutes_in_words
from faulttree.dialogue.tree import gate_in_words

Fields = Iterator[tuple[str, str]]

MOST = 4
"""Of what a gate looks at so much is named."""

_ABOUT = {"squawk": "the squawk, as it was then", "now": "how it stands now"}


def fields_of(book: Book, section: str, members: Sequence[str]) -> Fields:
    """The fields of an entry, empty ones and usual ones left out; figures that differ by leg are told for each."""
    item = getattr(book, section)[members[0]]
    if len(members) > 1:
        yield "one for each leg", ", ".join(members)
    told = {
        "components": _component, "symptoms": _symptom, "checks": _check, "actions": _action,
        "conditions": _condition, "circumstances": _circumstance, "cautions": _caution, "limits": _limit,
        "options": _option, "sources": _source,
    }  # fmt: skip
    if section == "faults":
        yield from _fault(book, [book.faults[name] for name in members])
    elif section == "events":
        yield "holds where", gate_in_words(item)
    elif section in told:
        yield from told[section](book, item)


def basis_in_words(basis: Basis | None, book: Book) -> str:
    """Where a number comes from."""
    if basis is None:
        return "not stated"
    source = book.sources.get(basis.source or "")
    parts = [basis.kind.replace("-", " "), source.title if source else basis.source, basis.where, basis.note]
    return ", ".join(part for part in parts if part)


def _percent(value: float) -> str:
    return f"{100 * value:.3g} %"


def _component(book: Book, item: Any) -> Fields:
    yield from _some("also called", ", ".join(item.also_called))
    yield from _some("ATA chapter", item.ata)
    if item.legs:
        yield "legs, and their share", ", ".join(f"{leg} {_percent(share)}" for leg, share in item.legs.items())


def _fault(book: Book, faults: Sequence[Fault]) -> Fields:
    first = faults[0]
    legs = [f"{fault.leg} " if fault.leg and len(faults) > 1 else "" for fault in faults]
    if first.rate is not None:
        rates = ", ".join(f"{leg}{fault.rate:.3g}" for leg, fault in zip(legs, faults, strict=True))
        yield "rate", f"{rates} per 1000 flight hours"
    else:
        yield "probability", ", ".join(f"{leg}{f.probability:.3g}" for leg, f in zip(legs, faults, strict=True))
    if first.share > 0:
        shows = f"awake {_percent(first.shows)} of the times it is looked at"
        yield "comes and goes", f"{_percent(first.share)} of them; such a one is {shows}"
    yield "basis", basis_in_words(first.basis, book)


def _symptom(book: Book, item: Symptom) -> Fields:
    yield "how pilots put it", "; ".join(item.says)
    yield "cause not listed", _percent(item.unlisted)
    yield "noticed", f"{_percent(item.noticed)} of the times it is there"
    yield from _some("tell the pilot", " ".join(item.pilot_advice))


def _check(book: Book, item: Check) -> Fields:
    yield "kind", f"{item.kind}, about {_ABOUT[item.about]}"
    yield from _some("question", item.ask)
    yield from _some("how", " ".join(item.how))
    yield from _some("as it should be", item.healthy)
    yield from _work(item)
    for outcome in item.outcomes:
        yield f"outcome {outcome.id}", f"{outcome.label}; {_when(book, item, outcome)}"
    if item.matrix is None:
        yield "false alarm", _percent(item.false_alarm)
    if item.wakes:
        yield "wakes a sleeping fault", _percent(item.wakes)
    if item.reading is not None:
        reading = item.reading
        told = f"{reading.quantity} in {reading.unit}, one standard deviation {reading.error:g}; limit {reading.limit}"
        yield "reading", f"{told}: {reading.below} below it, {reading.above} above"
    if not item.proposed:
        yield "proposed", "never; it can only be recorded"
    yield "basis", basis_in_words(item.basis, book)


def _when(book: Book, check: Check, outcome: Any) -> str:
    if outcome.when is None:
        return "otherwise"
    thing = book.faults.get(outcome.when) or book.events.get(outcome.when)
    what = "the squawk is still there" if outcome.when == THE_SQUAWK else thing.name if thing else outcome.when
    if "/" in outcome.when and isinstance(thing, Event):
        what = _gate(book, thing)  # one that is written in the check itself has no name but the label
    bars = f"; bars {', '.join(outcome.bars)}" if outcome.bars else ""
    bars += f"; makes needless: {', '.join(outcome.needless)}" if outcome.needless else ""
    shown = "" if check.matrix is not None else f", shown {_percent(outcome.detects)} of the times"
    return f"if {what}{shown}{bars}"


_GATES = {"any_of": "any of: ", "all_of": "all of: ", "not": "none of: "}


def _gate(book: Book, event: Event) -> str:
    """What a gate that has no name of its own looks at."""
    names = [(book.faults.get(name) or book.events[name]).name for name in event.of]
    lead = _GATES.get(event.gate, f"{event.count} of: ") if len(names) > 1 or event.gate == "not" else ""
    more = [f"{len(names) - MOST} more"] if len(names) > MOST else []
    return lead + ", ".join([*names[:MOST], *more])


def _action(book: Book, item: Action) -> Fields:
    yield from _some("how", " ".join(item.how))
    yield from _work(item)
    yield from _some("parts", "; ".join(item.parts))
    yield from _some("who", item.who)
    yield "effective", f"{_percent(item.effective)} of the times"
    if item.once:
        yield "proposed", "once in a case"
    yield "basis", basis_in_words(item.basis, book)


def _work(item: Check | Action) -> Fields:
    people = f", {item.people} people" if item.people > 1 else ""
    waits = f", and {item.waits:g} h of waiting" if item.waits else ""
    yield "takes", f"{minutes_in_words(item.minutes)}{people}{waits}"


def _condition(book: Book, item: Condition) -> Fields:
    people = f", {item.people} people" if item.people > 1 else ""
    yield "set up", f"{item.set_up} ({minutes_in_words(item.set_up_minutes)}{people})"
    named = f"{item.restore_name}: " if item.restore_name else ""
    yield "restore", f"{named}{item.restore} ({minutes_in_words(item.restore_minutes)})"
    if item.waits:
        yield "waits", f"{item.waits:g} h"
    if item.hazard:
        yield "hazard", "yes: fewer such set-ups are better"
    if not item.proposed:
        yield "proposed", "never; it can only be recorded"
    yield "basis", basis_in_words(item.basis, book)


def _circumstance(book: Book, item: Circumstance) -> Fields:
    yield "question", item.ask
    for label, pair in (
        ("rates it promotes", item.promotes),
        ("rates it demotes", item.demotes),
        ("faults that may come and go", item.intermittent),
        ("faults that never do", (item.steady, item.steady)),
    ):
        if pair != (1.0, 1.0):
            both = f"{pair[0]:g}" if pair[0] == pair[1] else f"{pair[0]:g} hard, {pair[1]:g} where it comes and goes"
            yield label, f"times {both}"
    yield "basis", basis_in_words(item.basis, book)


def _caution(book: Book, item: Any) -> Fields:
    yield "level", item.level


def _limit(book: Book, item: Any) -> Fields:
    yield "unit", item.unit
    yield "stands in", item.where
    if item.typical is not None:
        yield "typical", f"{item.typical:g} {item.unit}, for orientation alone"
        yield "basis", basis_in_words(item.basis, book)


def _option(book: Book, item: Any) -> Fields:
    yield "group", item.group
    others = [one for one in book.options.values() if one.group == item.group and one.id != item.id]
    yield "instead of", ", ".join(f"{one.id} ({one.name})" for one in others)
    yield "taken unless stated", "yes" if item.default else "no"


def _source(book: Book, item: Any) -> Fields:
    yield "publisher", item.publisher
    yield "edition", item.edition
    yield "seen", item.seen


def _some(label: str, words: str | None) -> Fields:
    if words:
        yield label, words
