"""The dialogue of a case: a pure state machine. Book and case in, what to show and ask next out.

``opening`` asks before the work, ``steps`` leads through a step, ``work`` is the main screen and the end,
``prompts`` the plain data that goes to and fro. No clock, no input or output.
"""

from __future__ import annotations

from faulttree.advice import Advice, Advisor, Situation
from faulttree.belief import Belief, Believer
from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.dialogue import opening, steps, work
from faulttree.dialogue.prompts import Board, CauseLine, Choice, NewEntry, Prompt, Reply

__all__ = ["Board", "CauseLine", "Choice", "Dialogue", "NewEntry", "Prompt", "Reply"]

OPENING_TOPICS = ("squawk", "symptom", "more-symptoms", "opening", "circumstances", "hours")
CLOSING_TOPICS = ("cause", "close")


class Dialogue:
    """Asks and takes answers for cases of one book. Keeps caches only."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.believer = Believer(book)
        self.advisor = Advisor(book)
        # The last belief and advice: several views of one moment ask for them.
        self._belief: Belief | None = None
        self._advised: tuple[Belief, Situation, Advice] | None = None

    def believe(self, state: CaseState) -> Belief:
        """Belief as the case stands."""
        evidence = state.beliefs()
        if self._belief is None or self._belief.evidence != evidence:
            self._belief = self.believer.believe(evidence)
        return self._belief

    def advise(self, state: CaseState) -> Advice:
        """Advice as the case stands."""
        belief, situation = self.believe(state), state.situation(self.book)
        if self._advised is None or self._advised[0] is not belief or self._advised[1] != situation:
            self._advised = (belief, situation, self.advisor.advise(belief, situation))
        return self._advised[2]

    def prompt(self, state: CaseState, view: str = "") -> Prompt | None:
        """What to show and ask next, or None when the case is at its end. ``view`` opens a side view."""
        if state.closed or state.left_open is not None:
            return None
        if view:
            return self._view(state, view)
        asked = opening.prompt(self.book, state)
        if asked is not None:
            return asked
        if state.step is not None:
            return steps.prompt(self.advisor, state)
        belief = self.believe(state)
        if state.proved(self.book) and not state.owed(self.book):
            return work.closing(state, self.advisor, belief)
        return work.prompt(state, self.advisor, belief, self.advise(state))

    def _view(self, state: CaseState, view: str) -> Prompt | None:
        if view == "unsure":
            assert state.step is not None
            return steps.outcome_prompt(self.book, self.book.checks[state.step.id], sure=False)
        if view == "measure":
            assert state.step is not None
            return steps.measure_prompt(self.book, self.book.checks[state.step.id])
        belief, advice = self.believe(state), self.advise(state)
        shown = work.board(state, self.advisor, belief, advice)
        if view == "others":
            return work.others(advice)
        if view == "found":
            return work.found(shown, state, self.advisor, belief)
        if view == "leave-open":
            return Prompt("leave-open", "Why is the case left open?", ("Enter goes back.",), text=True, default="")
        why = shown.suggestion.why if shown.suggestion else ""
        return Prompt("why", "Why this step", (why,), (Choice("b", "back", "back"),), board=shown)

    def accept(self, state: CaseState, asked: Prompt, typed: str) -> Reply:
        """What ``typed`` (a choice's value, or a line of words) leads to."""
        if asked.topic in OPENING_TOPICS:
            return opening.accept(self.book, state, asked, typed)
        if asked.topic == "measure":
            return steps.accept_measure(self.book, asked, typed)
        if asked.topic == "found":
            return work.accept_found(self.advisor, asked, typed)
        if asked.topic == "leave-open":
            reason = typed.strip()
            return Reply((NewEntry("left-open", {"reason": reason}),)) if reason else Reply()
        if typed == "back":
            return Reply()
        if asked.topic == "others":
            return work.start(self.advise(state).suggestions[int(typed)])
        if asked.topic in CLOSING_TOPICS or (asked.topic == "restore" and state.step is None):
            return work.accept_closing(self.book, state, asked, typed)
        if state.step is not None:
            return steps.accept(self.book, state, asked, typed)
        return work.accept(state, asked, typed)
