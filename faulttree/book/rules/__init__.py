"""Rules of form, one per module, registered here by hand.

A rule is a function from what it looks at to problems. ``WRITTEN_RULES`` look at the entries as written,
whatever the options; ``BOOK_RULES`` at the book as expanded for some options. The docstring of each module
says why the rule is there, with an entry that passes and one that fails.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from faulttree.book.grammar import GRAMMAR
from faulttree.book.positions import Problem
from faulttree.book.rules import (
    amends_keep,
    basis_present,
    care_kept,
    cautions_kept,
    covers_as_much,
    default_in_range,
    defaults_stated,
    detects_coherent,
    fault_corrected,
    fault_reachable,
    follow_up_is_check,
    hazard_warned,
    ids_kebab_case,
    labels_distinct,
    leg_has_legs,
    lock_outs_stay,
    matrix_columns,
    near_is_look,
    needless_is_question,
    needs_can_stand,
    no_rings,
    otherwise_last,
    parts_kept,
    proof_names_squawk,
    reading_outcomes,
    retired_needs,
    says_enough,
    symptom_can_be,
    taps_named,
    units_agree,
    words_kept,
)
from faulttree.book.texts import RuleText, rule_text

if TYPE_CHECKING:
    from faulttree.book.expand import Draft
    from faulttree.book.items import Written


@dataclass(frozen=True, slots=True)
class WrittenRule:
    """A rule about entries as written."""

    id: str
    check: Callable[[Written], Iterable[Problem]]


@dataclass(frozen=True, slots=True)
class BookRule:
    """A rule about the expanded book."""

    id: str
    check: Callable[[Draft], Iterable[Problem]]


WRITTEN_RULES = tuple(
    WrittenRule(module.ID, module.check)
    for module in (
        amends_keep,
        basis_present,
        care_kept,
        cautions_kept,
        covers_as_much,
        default_in_range,
        defaults_stated,
        detects_coherent,
        follow_up_is_check,
        lock_outs_stay,
        parts_kept,
        hazard_warned,
        ids_kebab_case,
        labels_distinct,
        leg_has_legs,
        matrix_columns,
        near_is_look,
        needless_is_question,
        otherwise_last,
        proof_names_squawk,
        reading_outcomes,
        retired_needs,
        says_enough,
        taps_named,
        units_agree,
        words_kept,
    )
)
BOOK_RULES = tuple(
    BookRule(module.ID, module.check)
    for module in (
        fault_corrected,
        fault_reachable,
        needs_can_stand,
        no_rings,
        symptom_can_be,
    )
)


def form_texts() -> dict[str, RuleText]:
    """What each rule of form says of itself, by id, those of the reader included."""
    rules: list[WrittenRule | BookRule] = [*WRITTEN_RULES, *BOOK_RULES]
    own = {rule.id: sys.modules[rule.check.__module__].__doc__ for rule in rules}
    return {rule_id: rule_text(rule_id, text) for rule_id, text in sorted({**GRAMMAR, **own}.items())}
