"""Which cautions a step shows: the union of all that hang on anything it touches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from faulttree.book.model import THE_SQUAWK, Action, Book, Check
from faulttree.graph.gates import Gates

LEVELS = ("WARNING", "CAUTION", "NOTE")


def in_order(book: Book, cautions: Iterable[str]) -> tuple[str, ...]:
    """Each caution once, WARNINGs first, then CAUTIONs, then NOTEs."""
    once = dict.fromkeys(cautions)
    return tuple(sorted(once, key=lambda caution: LEVELS.index(book.cautions[caution].level)))


def of_conditions(book: Book, conditions: Iterable[str]) -> list[str]:
    """Cautions of conditions that stand for a step, are set up for it, or are restored."""
    return [caution for condition in conditions for caution in book.conditions[condition].cautions]


def of_check(
    book: Book, gates: Gates, check: Check, conditions: Sequence[str], symptoms: Sequence[str]
) -> tuple[str, ...]:
    """A check's own cautions, its conditions' and, where hands come near, those of parts and symptoms reported."""
    found = [*check.cautions, *of_conditions(book, conditions)]
    if check.kind != "ask":
        found += _of_symptoms(book, symptoms)
        parts = check.near or sorted(_looked_at(gates, check))
        found += [caution for part in parts for caution in book.components[part].cautions]
    return in_order(book, found)


def _looked_at(gates: Gates, check: Check) -> set[str]:
    """Components of all faults that a check looks at."""
    parts: set[str] = set()
    for outcome in check.outcomes:
        if outcome.when and outcome.when != THE_SQUAWK:
            parts |= gates.components_below(outcome.when)
    return parts


def of_action(book: Book, action: Action, conditions: Sequence[str], symptoms: Sequence[str]) -> tuple[str, ...]:
    """An action's own cautions, its conditions', those of the parts it works on and of the symptoms reported."""
    found = [*action.cautions, *of_conditions(book, conditions), *_of_parts(book, action.corrects)]
    return in_order(book, [*found, *_of_symptoms(book, symptoms)])


def _of_symptoms(book: Book, symptoms: Iterable[str]) -> list[str]:
    return [caution for symptom in symptoms for caution in book.symptoms[symptom].cautions]


def _of_parts(book: Book, faults: Iterable[str]) -> list[str]:
    parts = dict.fromkeys(book.faults[fault].component for fault in faults)
    return [caution for part in parts for caution in book.components[part].cautions]
