"""The dialogue of a case: a pure state machine. Book and case in, what to show and ask next out.

``opening`` asks before the work, ``resuming`` when a case is taken up again, ``steps`` leads through a step,
``measuring`` a reading, ``thinking`` is belief and advice, ``work`` is the main screen and the end, ``where`` the
strips, ``chains`` laid out for them, ``tree`` the fault tree, ``changed`` what an answer changed, ``ahead`` says why
and what if, ``jump`` goes to any check, ``taking_back`` takes any answer back, ``hand`` asks for people and equipment,
``words`` for notes and reasons, ``profile`` for an aircraft's profile; ``prompts`` is the plain data. No clock, no
input or output.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from faulttree.advice import Advice, Figures, Suggestion
from faulttree.belief import Belief
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up
from faulttree.dialogue import (
    ahead,
    changed,
    closing,
    hand,
    jump,
    measuring,
    opening,
    resuming,
    steps,
    taking_back,
    words,
    work,
)
from faulttree.dialogue.prompts import Board, CauseLine, Choice, Moved, NewEntry, Prompt, Reply
from faulttree.dialogue.thinking import Thinking
from faulttree.dialogue.tree import Branch, FaultTree

__all__ = ["Board", "Branch", "CauseLine", "Choice", "Dialogue", "Moved", "NewEntry", "Prompt", "Reply"]

OPENING_TOPICS = ("squawk", "symptom", "more-symptoms", "opening", opening.FIRST_OF_ALL, "circumstances", "hours")
CLOSING_TOPICS = ("cause", "other-cause", "close")


class Dialogue:
    """Asks and takes answers for cases of one book. Keeps caches only.

    ``figures`` are the shop's, the book's where there are none; ``currency`` is what its money is called.
    """

    def __init__(self, book: Book, figures: Figures | None = None, currency: str = "") -> None:
        self.book, self.currency = book, currency
        self.thinking = Thinking(book, figures)
        self.believer, self.advisor = self.thinking.believer, self.thinking.advisor
        self.believe, self.advise, self.refine = self.thinking.believe, self.thinking.advise, self.thinking.refine

    def is_nothing_to_do(self, asked: Prompt) -> bool:
        """Whether what is to be put back needs no hand at all: nobody is asked to say that it was done."""
        return closing.needs_no_hand(self.book, asked)

    def beside(self, state: CaseState, asked: Prompt, stop: Callable[[], bool]) -> bool:
        """What is worked out while a prompt waits; whether there is a better one now.

        First what the answers lead to is prepared, then the next steps are played to the end.
        """
        self.thinking.prepare(self._answered(state, asked), stop, self.prompt)
        return asked.topic in ("next", "question", "why") and not stop() and self.refine(state, stop)

    def _answered(self, state: CaseState, asked: Prompt) -> Iterator[CaseState]:
        """The case after each answer that a prompt offers, where the screen after it takes a while."""
        if asked.topic in ("question", "outcome"):
            for outcome in self.book.checks[asked.about].outcomes:
                yield self.thinking.after(state, asked.about, outcome.id)
        elif asked.topic == "hours":
            usual = [
                CaseEntry(len(state.entries) + i, "", "", entry.kind, entry.data)
                for i, entry in enumerate(self.accept(state, asked, asked.default or "").entries, 1)
            ]
            yield add_up(self.book, [*state.entries, *usual])

    def prompt(self, state: CaseState, view: str = "") -> Prompt | None:
        """What to show and ask next, or None when the case is at its end. ``view`` opens a side view."""
        if view in resuming.VIEWS:
            return resuming.prompt(self.book, state, view)
        if state.closed or state.left_open is not None:
            return None
        if state.unconfirmed:
            return resuming.confirm(self.book, state)
        if view:
            return self._view(state, view)
        asked = opening.prompt(self.book, state)
        if asked is not None:
            return asked
        if state.step is not None:
            return steps.prompt(self.advisor, state)
        stopped = closing.speaks_against(state, self.advisor)
        if stopped is not None:
            return stopped
        belief = self.believe(state)
        if state.proved(self.book) and not state.owed(self.book):
            return closing.prompt(state, self.advisor, belief)
        better = self.thinking.better(state) is not None
        return work.prompt(self.book, self._board(state), state.squawk, better, state.found_in_words)

    def _board(self, state: CaseState) -> Board:
        belief, advice = self.believe(state), self.advise(state)
        return work.board(state, self.advisor, belief, advice, self.currency, self.thinking.at_first(belief))

    def _view(self, state: CaseState, view: str) -> Prompt | None:
        if view == "unsure":
            assert state.step is not None
            return steps.outcome_prompt(self.book, state, self.book.checks[state.step.id], sure=False)
        if view in measuring.VIEWS:
            assert state.step is not None
            return measuring.prompt(self.book, state, self.book.checks[state.step.id], view)
        if view in words.VIEWS:
            about = state.step.id if state.step is not None else self.advise(state).suggestions[0].id
            return words.prompt(view, about)
        if view in hand.VIEWS:
            return hand.prompt(self.book, state, view)
        if view == "cautions-again":
            return steps.cautions_again(self.advisor, state)
        kind, _, rest = view.partition(" ")
        if kind == taking_back.VIEW:
            return taking_back.prompt(self.book, state, int(rest or 0))
        if kind == taking_back.SURE:
            return taking_back.confirm(self.book, state, rest)
        return self._look_around(state, view)

    def _look_around(self, state: CaseState, view: str) -> Prompt:
        """A view that wants belief or advice."""
        belief, advice = self.believe(state), self.advise(state)
        kind, _, rest = view.partition(" ")
        if kind == "others":
            return work.others(self.book, self.thinking.best(state), int(rest or 0))
        if kind == jump.VIEW:
            return jump.prompt(self.advisor, belief, state, rest, [step.id for step in advice.suggestions])
        if kind == "found" and rest:
            return work.found_by_words(self.advisor, belief, rest)
        if view == hand.CANNOT:
            return hand.cannot(self.book, self._in_hand(state))
        if view == "changed":
            return changed.prompt(self.book, self.thinking.belief_of, state, belief)
        if view == "tree":
            return self._tree(state, belief, advice)
        shown = self._board(state)
        if view == "found":
            return work.found(shown, state, self.advisor, belief)
        if view.startswith(ahead.WHAT_IF):
            return ahead.what_if(self.thinking, state, view.removeprefix(ahead.WHAT_IF))
        return ahead.why(self.book, shown, advice)

    def _in_hand(self, state: CaseState) -> Suggestion:
        """The step in hand, as it is advised; the one proposed where none is in hand."""
        ways = self.thinking.best(state).suggestions
        if state.step is None:
            return self.advise(state).suggestions[0]
        return next((way for way in ways if way.id == state.step.id), ways[0])

    def _tree(self, state: CaseState, belief: Belief, advice: Advice) -> Prompt:
        now = {name: fault.probability for name, fault in belief.faults.items()}
        drawn = FaultTree(self.book, self.advisor.gates, now, self.thinking.at_first(belief))
        step = advice.suggestions[0].id if advice.suggestions else ""
        trees = tuple(drawn.of_symptom(symptom, step) for symptom in state.reported)
        return Prompt("tree", "The fault tree of what was reported", commands=(ahead.BACK,), trees=trees)

    def accept(self, state: CaseState, asked: Prompt, typed: str) -> Reply:
        """What ``typed`` (a choice's value, or a line of words) leads to."""
        if asked.topic in OPENING_TOPICS:
            return opening.accept(self.book, state, asked, typed)
        if asked.topic in resuming.TOPICS:
            return resuming.accept(self.book, state, asked, typed)
        if asked.topic in measuring.VIEWS:
            return measuring.accept(self.book, state, asked, typed)
        if asked.topic in words.VIEWS:
            return words.accept(asked, typed)
        if asked.topic == "found" or (asked.topic == "found-which" and typed != "back"):
            return work.once(self.book, state, work.accept_found(asked, typed))
        if asked.topic in hand.VIEWS:
            return hand.accept(asked, typed)
        if asked.topic == jump.VIEW:
            return jump.accept(self.book, asked, typed)
        if typed == "back":
            return Reply()
        if asked.topic == taking_back.VIEW:
            return taking_back.choose(typed)
        if asked.topic == taking_back.SURE:
            return taking_back.accept(self.book, state, typed)
        if asked.topic == hand.CANNOT:
            return hand.accept_cannot(state, self._in_hand(state), typed)
        if asked.topic in ("why", "so-far"):
            return Reply(view=typed)
        if typed == work.SHOW_BETTER.value:
            self.thinking.show_better(state)
            return Reply()
        if asked.topic == "others":
            return (
                work.start(self.thinking.best(state).suggestions[int(typed)])
                if typed.isdecimal()
                else Reply(view=typed)
            )
        if asked.topic in CLOSING_TOPICS or (asked.topic == "restore" and state.step is None):
            return closing.accept(self.book, state, asked, typed)
        if state.step is not None:
            return steps.accept(self.book, state, asked, typed)
        return work.accept(self.book, state, asked, typed)
