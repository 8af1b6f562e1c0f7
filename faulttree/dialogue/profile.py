"""The short dialogue that enters an aircraft's profile: pure, one question at a time, text in, changed draft out.

A profile says which family the gear is of, what is fitted, the system's voltage, and limits from the maker's manual
with their section and revision. The program knows no limit of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from faulttree.book.model import Book, Limit, Option
from faulttree.dialogue.prompts import Choice, Prompt
from faulttree.errors import BadAnswer
from faulttree.units import convert, parse_quantity

VOLTAGE_UNIT = "V"
TAKE_OUT = "-"


@dataclass(frozen=True, slots=True)
class Draft:
    """A profile as far as it is entered; ``limits`` by id, each with value, unit, reference."""

    name: str
    family: str = ""
    fitted: Mapping[str, str] = field(default_factory=dict)
    voltage: str = ""
    limits: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


def ask_family(draft: Draft, families: Sequence[str]) -> Prompt:
    """Which kind of gear."""
    choices = tuple(
        Choice(str(i), family, family, "as it is" if family == draft.family else "")
        for i, family in enumerate(families, 1)
    )
    lines = ("Type its number." + (" Enter leaves it." if draft.family else ""),)
    return Prompt("family", f"{draft.name}: which kind of gear?", lines, choices, text=True, default="")


def groups(book: Book) -> dict[str, list[Option]]:
    """Options by their group, in the order of the book."""
    found: dict[str, list[Option]] = {}
    for option in book.options.values():
        found.setdefault(option.group, []).append(option)
    return found


def ask_option(draft: Draft, group: str, members: Sequence[Option]) -> Prompt:
    """Which member of a group is fitted."""
    now = draft.fitted.get(group)
    choices = tuple(
        Choice(str(i), m.name, m.id, "as it is" if m.id == now else "usual" if m.default and now is None else "")
        for i, m in enumerate(members, 1)
    )
    how = "Enter leaves it." if now else "Enter if you do not know: the usual one is then taken, and it is said so."
    lines = (f"Type a number. {how}",)
    return Prompt("option", f"{group.replace('-', ' ').capitalize()}?", lines, choices, text=True, default="")


def ask_voltage(draft: Draft) -> Prompt:
    """The system's voltage."""
    now = f"So far: {draft.voltage}. Enter leaves it." if draft.voltage else "Enter if you do not know."
    lines = ("From the placard or the manual, such as 28 V.", now)
    return Prompt("voltage", "System voltage?", lines, text=True, default="")


def ask_limit(draft: Draft, book: Book) -> Prompt:
    """Which limit to enter next; nothing ends."""
    choices = tuple(
        Choice(str(i), limit.name, limit.id, _now(draft, limit).partition(" (")[0])
        for i, limit in enumerate(_limits(book), 1)
    )
    lines = ("Type a number to enter or change one. Enter ends.",)
    return Prompt("which-limit", "Limits from the maker's manual", lines, choices, text=True, default="")


def ask_value(draft: Draft, limit: Limit) -> Prompt:
    """The value of one limit, and where it stands."""
    lines = [f"To be found in: {limit.where}. So far: {_now(draft, limit) or 'nothing'}."]
    if limit.typical is not None:
        lines.append(f"Typical {limit.typical:g} {limit.unit}; confirm in the manual, it is no limit.")
    lines += [f"    LIMIT {limit.unit}; MANUAL, SECTION AND REVISION", "A dash takes it out. Enter leaves it."]
    return Prompt("limit", limit.name, tuple(lines), text=True, default="", about=limit.id)


def _limits(book: Book) -> list[Limit]:
    """Those that some check of this aircraft is judged by."""
    used = {check.reading.limit for check in book.checks.values() if check.reading is not None}
    return [limit for limit in book.limits.values() if limit.id in used]


def _now(draft: Draft, limit: Limit) -> str:
    known = draft.limits.get(limit.id)
    return f"{known['value']:g} {known['unit']} ({known['reference']})" if known else ""


def choose(asked: Prompt, typed: str) -> str | None:
    """The value behind a typed number, None for nothing typed. Raises BadAnswer."""
    typed = typed.strip()
    if not typed:
        return None
    by_key = {choice.key: choice.value for choice in asked.choices}
    if typed not in by_key:
        raise BadAnswer(f"{typed!r} is not one of the numbers shown")
    return by_key[typed]


def with_voltage(draft: Draft, typed: str) -> Draft:
    """The draft with a voltage. Raises BadAnswer for what is no voltage."""
    typed = typed.strip()
    if not typed:
        return draft
    found = convert(parse_quantity(typed), VOLTAGE_UNIT)
    if found.value <= 0:
        raise BadAnswer(f"{typed!r} is no voltage of a system; write it as on the placard, such as 28 V")
    return replace(draft, voltage=str(found))


def with_limit(draft: Draft, limit: Limit, typed: str) -> Draft:
    """The draft with a limit entered or taken out. Raises BadAnswer saying what would be right."""
    typed = typed.strip()
    if not typed:
        return draft
    limits = {name: value for name, value in draft.limits.items() if name != limit.id}
    if typed == TAKE_OUT:
        return replace(draft, limits=limits)
    value, _, reference = (part.strip() for part in typed.partition(";"))
    if not reference:
        raise BadAnswer("where the limit stands is wanted too, behind a semicolon: manual, section and revision")
    found = convert(parse_quantity(value), limit.unit)
    kept = {"value": found.value, "unit": found.unit, "reference": reference}
    return replace(draft, limits={**limits, limit.id: kept})
