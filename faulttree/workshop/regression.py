"""Runs the regression cases that lie beside the knowledge: what each must bring out, and what it did."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from faulttree.advice import Advice, Advisor, Budget, Situation, Suggestion, proofs_of, situation_after
from faulttree.belief import Belief, Believer, Denied, Did, Evidence, Found, Reported, measured, plain, unsure
from faulttree.belief import Entry as BeliefEntry
from faulttree.book.cases import Expect, RegressionCase, Step
from faulttree.book.model import Book
from faulttree.squawk import match
from faulttree.units import Quantity, convert

ALIKE = 1.25
"""Shares of components that differ by less than a quarter are alike: rates are known within a factor of two."""

ENOUGH_STATES = 1000
"""States to refine within: a few tenths of a second for a case."""


@dataclass(frozen=True, slots=True)
class CaseResult:
    """A case with what it did not bring out, one sentence each; none if it passed."""

    case: RegressionCase
    misses: tuple[str, ...]


PAIRS, LEFT_OUT = 2, 0.01
"""A case is looked at with two faults at once at most, unless larger sets may hold more than so much: that is ten times
as fast, and no case is so near to its bounds that a hundredth of the probability decides it."""


KEPT = 2
"""Frames kept: cases come by their symptoms, and what was left behind is not come back to."""


class CaseRunner:
    """Runs cases of one family; books are read once per set of fitted options by ``load``.

    Steps are judged by the quick choice, by which the cases were written; with ``refined`` as played to the end, which
    takes some ten times as long and leads to other steps in a part of the cases.
    """

    def __init__(self, load: Callable[[tuple[str, ...]], Book], refined: bool = False) -> None:
        self._load, self._refined = load, refined
        self._ready: dict[tuple[str, ...], tuple[Book, tuple[Believer, Believer], Advisor]] = {}

    def run(self, case: RegressionCase) -> CaseResult:
        """Works the case out and compares. Raises what belief raises for steps that do not fit their checks."""
        if case.fitted not in self._ready:
            book = self._load(case.fitted)
            self._ready[case.fitted] = (book, (Believer(book, PAIRS, KEPT), Believer(book, kept=KEPT)), Advisor(book))
        book, (pairs, all_sets), advisor = self._ready[case.fitted]
        evidence = evidence_of(book, case)
        belief = pairs.believe(evidence)
        if not belief.leaves_out_at_most(LEFT_OUT):
            belief = all_sets.believe(evidence)
        misses = [*_belief_misses(book, case.expect, belief)]
        if _wants_steps(case.expect):
            situation = situation_of(book, advisor, case, evidence)
            if self._refined:
                advice = advisor.refine(belief, situation, Budget(ENOUGH_STATES), ahead=False)
            else:
                advice = advisor.advise(belief, situation, ahead=False, words=False, leader=_wants_first(case.expect))
            misses += _step_misses(book, case.expect, advice)
        return CaseResult(case, tuple(misses))


def evidence_of(book: Book, case: RegressionCase) -> Evidence:
    """What the case tells belief; a squawk in words counts as the symptoms recognised in it."""
    heard = [m.id for m in match(book, case.squawk).symptoms] if case.squawk else []
    entries: list[BeliefEntry] = [Reported(name) for name in dict.fromkeys([*case.symptoms, *heard])]
    entries += [Denied(name) for name in case.absent]
    entries += [_entry(book, step) for step in case.steps]
    return Evidence(tuple(entries), case.circumstances, case.hours)


def _entry(book: Book, step: Step) -> BeliefEntry:
    if step.kind == "found":
        return Found(step.name)
    if step.kind == "did":
        return Did(step.name)
    if step.kind == "reading":
        assert step.measured is not None
        assert step.limit_is is not None
        reading = book.checks[step.name].reading
        assert reading is not None
        value = convert(Quantity(step.measured.value, step.measured.unit), reading.unit).value
        limit = convert(Quantity(step.limit_is.value, step.limit_is.unit), reading.unit).value
        return measured(book, step.name, value, limit)
    assert step.outcome is not None
    return (plain if step.kind == "answer" else unsure)(book, step.name, step.outcome)


def situation_of(book: Book, advisor: Advisor, case: RegressionCase, evidence: Evidence) -> Situation:
    """Where the job stands after the case's steps, ``evidence`` being what they tell belief."""
    entries = evidence.entries
    proofs = proofs_of(book, [e.symptom for e in entries if isinstance(e, Reported)])
    return situation_after(book, entries, proofs, standing=advisor.moves.check_standing(case.standing))


def _wants_steps(expect: Expect) -> bool:
    return bool(_wants_first(expect) or expect.cautions or expect.not_offered)


def _wants_first(expect: Expect) -> bool:
    """Whether it counts which step comes first, and not only what is offered."""
    return bool(expect.next or expect.hands_on or expect.kinds)


def _belief_misses(book: Book, expect: Expect, belief: Belief) -> Iterator[str]:
    yield from _cause_misses(book, expect, belief)
    yield from _order_misses(expect, belief)
    if expect.unlisted_at_least is not None and belief.unlisted < expect.unlisted_at_least:
        yield f"the unlisted cause has {belief.unlisted:.3f}, wanted at least {expect.unlisted_at_least:g}"
    if expect.contradiction is not None and (belief.contradiction is not None) != expect.contradiction:
        yield f"contradiction: wanted {expect.contradiction}, got {belief.contradiction is not None}"
    if expect.conflict_at_least is not None and (belief.conflict_bits or 0.0) < expect.conflict_at_least:
        yield f"conflict is {belief.conflict_bits or 0.0:.1f} bits, wanted at least {expect.conflict_at_least:g}"


def _cause_misses(book: Book, expect: Expect, belief: Belief) -> Iterator[str]:
    if expect.cause is None:
        return
    if expect.cause in book.faults:
        ranked = sorted(belief.faults, key=lambda f: (-belief.faults[f].probability, f))
    else:
        ranked = sorted(belief.components, key=lambda c: (-belief.components[c], c))
    place = ranked.index(expect.cause) + 1
    if place > expect.within:
        first = ", ".join(ranked[: expect.within])
        yield f"{expect.cause} comes in place {place}, wanted within {expect.within}; ahead: {first}"


def _order_misses(expect: Expect, belief: Belief) -> Iterator[str]:
    """The components named stand in their order, and nothing else stands before the last; what is alike may swap."""
    if not expect.order:
        return
    share = belief.components
    ahead = [(later, one) for one, later in pairwise(expect.order) if share[later] > ALIKE * share[one]]
    last = expect.order[-1]
    ahead += [(c, last) for c in share if c not in expect.order and share[c] > ALIKE * share[last]]
    if ahead:
        ranked = sorted(share, key=lambda c: (-share[c], c))[: len(expect.order) + 2]
        told = ", ".join(f"{c} {share[c]:.0%}" for c in ranked)
        yield f"the order of components is {told}; wanted {', '.join(expect.order)}"


def _wants_hands(book: Book, step: Suggestion) -> bool:
    """Whether a step is more than a question or a look, which may well come before what is expected."""
    return step.id not in book.checks or book.checks[step.id].kind == "test"


def _step_misses(book: Book, expect: Expect, advice: Advice) -> Iterator[str]:
    first = advice.suggestions[0]
    if expect.next and first.id not in expect.next:
        yield f"next is {first.id}, wanted one of {', '.join(expect.next)}"
    hands_on = next((s.id for s in advice.suggestions if s.id in expect.hands_on or _wants_hands(book, s)), first.id)
    if expect.hands_on and hands_on not in expect.hands_on:
        yield f"the first step with hands on is {hands_on}, wanted one of {', '.join(expect.hands_on)}"
    if expect.kinds and first.kind not in expect.kinds:
        yield f"next is of kind {first.kind}, wanted {', '.join(expect.kinds)}"
    shown = {caution for suggestion in advice.suggestions for caution in suggestion.cautions}
    for caution in expect.cautions:
        if caution not in shown:
            yield f"caution {caution} is not shown with any step"
    offered = {suggestion.id for suggestion in advice.suggestions}
    for name in expect.not_offered:
        if name in offered:
            yield f"{name} is offered"
