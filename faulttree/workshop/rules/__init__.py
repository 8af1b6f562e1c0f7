"""Rules of substance, one per module, registered here by hand: does a book that can be read also make sense?

A rule is a function from a :class:`~faulttree.workshop.subject.Subject` to problems. Those of ``SEVERITY`` advice are
for the author to weigh. The docstring of each module says what it wants and why, with an example that passes and one
that fails.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from faulttree.book.positions import ERROR, Problem
from faulttree.book.rules import form_texts
from faulttree.book.texts import RuleText, rule_text
from faulttree.workshop.rules import (
    case_moved,
    caution_demanded,
    check_helps,
    checks_differ,
    fault_findable,
    fault_mendable,
    fault_squawked,
    first_question,
    limit_origin,
    overlays_meet,
    proof_changed,
    rate_grounded,
    saying_fits,
    scenario_holds,
    symptom_debriefed,
    weaker_beside,
    words_dropped,
)
from faulttree.workshop.subject import Subject


@dataclass(frozen=True, slots=True)
class SubstanceRule:
    """A rule about what a sound book says."""

    id: str
    severity: str
    check: Callable[[Subject], Iterable[Problem]]


SUBSTANCE_RULES = tuple(
    SubstanceRule(module.ID, module.SEVERITY, module.check)
    for module in (
        caution_demanded,
        check_helps,
        checks_differ,
        fault_findable,
        fault_mendable,
        fault_squawked,
        first_question,
        limit_origin,
        overlays_meet,
        proof_changed,
        rate_grounded,
        symptom_debriefed,
        weaker_beside,
        words_dropped,
    )
)


def substance(subject: Subject) -> Iterator[Problem]:
    """All that the rules of substance find, each with the severity of its rule."""
    for rule in SUBSTANCE_RULES:
        for problem in rule.check(subject):
            yield replace(problem, severity=rule.severity)


def substance_texts() -> dict[str, RuleText]:
    """What each rule of substance says of itself, by id."""
    texts = {r.id: rule_text(r.id, sys.modules[r.check.__module__].__doc__, r.severity) for r in SUBSTANCE_RULES}
    modules = (case_moved, saying_fits, scenario_holds)
    apart = {module.ID: rule_text(module.ID, module.__doc__, ERROR) for module in modules}
    return {**texts, **apart}


def all_texts() -> dict[str, RuleText]:
    """What every rule of form and of substance says of itself, by id."""
    return dict(sorted({**form_texts(), **substance_texts()}.items()))
