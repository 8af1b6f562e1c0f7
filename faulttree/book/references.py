"""Which fields of an entry name other entries, and what kind of entry each wants."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from faulttree.book.forms import Form, Gate
from faulttree.book.items import Item
from faulttree.book.model import THE_SQUAWK
from faulttree.book.yamlbuild import Path

THING = "things"
"""The kind of what can hold: a fault, an event, a symptom, a tap of a chain."""

TAP = "taps"
"""The kind of a tap of a chain."""

OPTION = "choices"
"""The kind of an option (not of its group)."""

_LISTS = {
    "needs": "conditions",
    "implies": "conditions",
    "excludes": "conditions",
    "not_while": "conditions",
    "after": "checks",
    "covers": "checks",
    "only_with": "symptoms",
    "near": "components",
    "after_any": "checks",
    "follow_up": "checks",
    "corrected_by": "actions",
    "promoted_by": "circumstances",
    "demoted_by": "circumstances",
    "equipment": "equipment",
    "cautions": "cautions",
    "standing_cautions": "cautions",
    "fitted": OPTION,
}


@dataclass(frozen=True, slots=True)
class Reference:
    """A name in an entry: the path where it stands, the kind of entry it wants."""

    kind: str
    name: str
    path: Path


def references(item: Item[Any]) -> Iterator[Reference]:
    """Every reference in an entry, in the order of its fields."""
    form = item.form
    kind_of_form: type[Form] = type(form)
    has = kind_of_form.model_fields
    for field, kind in _lists_of(kind_of_form):
        for index, name in enumerate(getattr(form, field) or ()):
            yield Reference(kind, name, (field, index))
    if "proof" in has and form.proof and isinstance(form.proof, str):
        yield Reference("checks", form.proof, ("proof",))
    basis = form.basis if "basis" in has else None
    if basis is not None and basis.source is not None:
        yield Reference("sources", basis.source, ("basis", "source"))
    if item.section == "checks":
        yield from _bars(form.outcomes)
    if item.section == "checks" and form.reading is not None:
        yield Reference("limits", form.reading.limit, ("reading", "limit"))
    if item.section == "opening":
        yield from _opening(form.answers)
    yield from things(item)


@cache
def _lists_of(form: type[Form]) -> tuple[tuple[str, str], ...]:
    """The lists of names that a form has, with the kind of each: to ask a form for what it has not is slow."""
    return tuple((field, kind) for field, kind in _LISTS.items() if field in form.model_fields)


def _bars(outcomes: dict[str, Any]) -> Iterator[Reference]:
    for outcome_id, outcome in outcomes.items():
        for field, kind in (("bars", "conditions"), ("until", "checks"), ("needless", "checks")):
            for index, name in enumerate(getattr(outcome, field)):
                yield Reference(kind, name, ("outcomes", outcome_id, field, index))


def _opening(answers: dict[str, Any]) -> Iterator[Reference]:
    for answer_id, answer in answers.items():
        for field, kind in (("cautions", "cautions"), ("first", "conditions")):
            for index, name in enumerate(getattr(answer, field)):
                yield Reference(kind, name, ("answers", answer_id, field, index))


def things(item: Item[Any]) -> Iterator[Reference]:
    """The references to what can hold."""
    form = item.form
    if item.section == "events":
        yield from in_gate(form, ())
    elif item.section == "symptoms":
        yield from in_ref(form.when, ("when",))
    elif item.section == "chains":
        if form.starts_at is not None:
            yield Reference(TAP, form.starts_at, ("starts_at",))
        for index, element in enumerate(form.elements):
            yield from in_refs(element.faults, ("elements", index, "faults"))
    elif item.section == "checks":
        for outcome_id, outcome in form.outcomes.items():
            if outcome.when is not None and outcome.when != THE_SQUAWK:
                yield from in_ref(outcome.when, ("outcomes", outcome_id, "when"))


def in_ref(ref: str | Gate, path: Path) -> Iterator[Reference]:
    """The references of an id or a nested gate."""
    if isinstance(ref, str):
        yield Reference(THING, ref, path)
    else:
        yield from in_gate(ref, path)


def in_refs(refs: Sequence[str | Gate], path: Path) -> Iterator[Reference]:
    """The references of a list of ids and gates."""
    for index, ref in enumerate(refs):
        yield from in_ref(ref, (*path, index))


def in_gate(gate: Gate, path: Path) -> Iterator[Reference]:
    """The references of a gate."""
    for members, where in gate_members(gate, path):
        if isinstance(members, list):
            yield from in_refs(members, where)
        else:
            yield from in_ref(members, where)


def gate_members(gate: Gate, path: Path) -> Iterator[tuple[Any, Path]]:
    """What a gate lists (or the one thing that its ``not`` names), with its path."""
    if gate.any_of is not None:
        yield gate.any_of, (*path, "any_of")
    if gate.all_of is not None:
        yield gate.all_of, (*path, "all_of")
    if gate.none_of is not None:
        yield gate.none_of, (*path, "not")
    if gate.at_least is not None:
        yield gate.at_least.of, (*path, "at_least", "of")
