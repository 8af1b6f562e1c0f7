"""Belief and advice for the moments of a case: worked out once, refined and prepared beside the prompt."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from faulttree.advice import Advice, Advisor, Budget, Figures, Situation, Stopped, Suggestion
from faulttree.belief import Answer, Belief, Believer, Denied, Entry, Evidence, Reported
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.kept import Latest

MOMENTS_KEPT = 12
"""Moments whose belief and advice are kept: what stands, and what the answers that are asked for would lead to."""

ROWS_KEPT = 1_000_000
"""Rows of belief that these may hold together, some 200 bytes each; answers that contradict each other make millions of
them, and then the older moments know only what they were asked before."""

Moment = tuple[Evidence, Situation]


class Thinking:
    """Belief and advice of one book, as a case stands. Keeps caches only."""

    def __init__(self, book: Book, figures: Figures | None = None) -> None:
        self.book = book
        self.believer = Believer(book)
        self.advisor = Advisor(book, figures)
        self._beliefs = Latest[Evidence, Belief](MOMENTS_KEPT)
        self._advices = Latest[Moment, Advice](MOMENTS_KEPT)
        self._better = Latest[Moment, Advice](MOMENTS_KEPT)
        self._first = Latest[Evidence, dict[str, float]](MOMENTS_KEPT)
        self._budget = Budget()

    def believe(self, state: CaseState) -> Belief:
        """Belief as the case stands."""
        return self.belief_of(state.beliefs())

    def belief_of(self, evidence: Evidence) -> Belief:
        """Belief by any evidence."""
        found = self._beliefs.get(evidence)
        if found is None:
            self._budget.heed()
            found = self._beliefs.put(evidence, self.believer.believe(evidence))
            self._let_go_of_rows()
        return found

    def _let_go_of_rows(self) -> None:
        """The latest belief, and those before it, hold their rows as long as there is room for them."""
        held = 0
        for belief in reversed(list(self._beliefs)):
            held += belief.held
            if held > ROWS_KEPT and held > belief.held:
                belief.let_go()

    def advise(self, state: CaseState) -> Advice:
        """Advice as the case stands: the refined one where ``refine`` has been through, else the quick choice.

        The step that was proposed first stays first: whoever reads it must not find another one in its place. A better
        one is told by ``better`` until ``show_better``.
        """
        belief, situation = self.believe(state), state.situation(self.book)
        key = belief.evidence, situation
        # To ask for it keeps it: what is on the screen is not forgotten for all that is prepared beside it.
        return self._advices.get(key) or self._advices.put(
            key, self.advisor.advise(belief, situation, self._budget, ahead=False)
        )

    def best(self, state: CaseState) -> Advice:
        """What is known of all ways to go on, the best first, whichever step is proposed on the screen."""
        return self._better.get((self.believe(state).evidence, state.situation(self.book))) or self.advise(state)

    def better(self, state: CaseState) -> Suggestion | None:
        """A step that turned out better than the one proposed, as long as it is not shown."""
        best = self._better.get((self.believe(state).evidence, state.situation(self.book)))
        return None if best is None else best.suggestions[0]

    def show_better(self, state: CaseState) -> None:
        """From now on the better step, if there is one, is the one proposed."""
        key = self.believe(state).evidence, state.situation(self.book)
        best = self._better.pop(key)
        if best is not None:
            self._advices.put(key, best)

    def refine(self, state: CaseState, stop: Callable[[], bool]) -> bool:
        """Play the best steps to the end of the job; whether that was finished and is news.

        ``stop`` is asked again and again and ends it. From then on ``advise`` gives the refined advice, with the step
        that was proposed before in its place.
        """
        quick = self.advise(state)
        if quick.refined or not quick.suggestions:
            return False
        belief, situation = self.believe(state), state.situation(self.book)
        first = quick.suggestions[0].id
        if first in self.book.checks:
            # What the answer to the proposed check will reach, so that the next screen need not wait for it.
            belief.outcomes(first)
        try:
            better = self.advisor.refine(belief, situation, Budget(stop=stop))
        except Stopped:
            return False
        if stop() or not better.refined:
            return False
        key = belief.evidence, situation
        if better.suggestions[0].id != first:
            self._better.put(key, better)
        self._advices.put(key, _with_first(better, quick.suggestions[0]))
        return True

    def after(self, state: CaseState, check: str, outcome: str) -> CaseState:
        """The case as it would stand once a check was done and showed this."""
        asked = self.book.checks[check]
        first = () if asked.kind == "ask" else state.first(self.book)
        move = self.advisor.moves.move(state.standing, (*asked.needs, *first))
        told: list[tuple[str, dict[str, Any]]] = [("restored", {"condition": name}) for name in move.off]
        told += [("set-up", {"condition": name}) for name in move.on]
        told.append(("answer", {"check": check, "outcome": outcome, "sure": True}))
        number = len(state.entries) + 1
        more = [CaseEntry(number + i, "", "", kind, data) for i, (kind, data) in enumerate(told)]
        return add_up(self.book, [*state.entries, *more])

    def prepare(
        self, states: Iterable[CaseState], stop: Callable[[], bool], look: Callable[[CaseState], object]
    ) -> None:
        """Look at what answers would lead to, so that the screen after them is there at once."""
        self._budget = Budget(stop=stop)
        try:
            for state in states:
                self._budget.heed()
                look(state)
        except Stopped:
            return
        finally:
            self._budget = Budget()

    def at_first(self, belief: Belief) -> Mapping[str, float]:
        """Probabilities by what was reported and remembered: what is less suspect now was cleared by hand.

        Memory proves nothing good: only a look or a test does.
        """
        told = belief.evidence
        evidence = replace(told, entries=tuple(entry for entry in told.entries if self._is_told(entry)))
        known = self._first.get(evidence)
        if known is not None:
            return known
        faults = (belief if evidence == told else self.belief_of(evidence)).faults
        return self._first.put(evidence, {name: fault.probability for name, fault in faults.items()})

    def _is_told(self, entry: Entry) -> bool:
        if isinstance(entry, Answer):
            return self.book.checks[entry.check].kind == "ask"
        return isinstance(entry, Reported | Denied)


def _with_first(advice: Advice, kept: Suggestion) -> Advice:
    """The advice with a step first that was proposed before it was worked out; as it is where that is the best."""
    if advice.suggestions[0].id == kept.id:
        return advice
    first = next((one for one in advice.suggestions if one.id == kept.id), kept)
    others = tuple(one for one in advice.suggestions if one.id != kept.id)
    return replace(advice, suggestions=(first, *others))
