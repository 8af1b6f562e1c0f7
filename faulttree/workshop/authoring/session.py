"""How far an interview has come: answers by the key of their question, gone through anew after each of them.

The answers are all there is to keep: with them an interview goes on where it was left, also after the book has changed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.answers import text
from faulttree.workshop.authoring.draft import Draft
from faulttree.workshop.authoring.ground import Ground
from faulttree.workshop.authoring.interview import interview
from faulttree.workshop.authoring.questions import NONE, Question, proposing
from faulttree.workshop.authoring.reads import READS, Walks

RETIRED = "retired."
"""What the keys of cases begin with that the overlay takes out; their answer is the reason."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that has its answer."""

    question: Question
    answer: str

    @property
    def in_words(self) -> str:
        """The answer as it was shown."""
        by_value = dict(self.question.choices)
        return by_value.get(self.answer, self.answer).partition(":")[0] if self.question.choices else self.answer or "-"


class Session:
    """An interview over a ground. ``seed`` are answers proposed, ``answers`` those given so far."""

    def __init__(self, ground: Ground, seed: Mapping[str, str], answers: Mapping[str, str] | None = None) -> None:
        self.ground, self.seed = ground, dict(seed)
        self.answers = dict(answers or {})
        self._before: dict[str, str] = {}
        self._walks = Walks(ground)
        self.asked: list[Asked] = []
        self.now: Question | Draft = self._again()

    def answer(self, typed: str) -> None:
        """Takes an answer to the question of now; an empty one is its default. Raises BadAnswer, and takes nothing."""
        question = self.now
        if isinstance(question, Draft):
            raise BadAnswer("all is answered")
        if not typed.strip():
            if question.default is None:
                raise BadAnswer("an answer is wanted here")
            typed = question.default
        elif question.none and typed.strip() == NONE:
            typed = ""
        self.answers[question.key] = question.take(typed)
        self.now = self._again()

    def back(self) -> bool:
        """Asks the last question once more; False where there is none before."""
        if not self.asked:
            return False
        self.change(self.asked[-1].question.key)
        return True

    def change(self, *keys: str) -> None:
        """Asks these questions once more, and after them whatever their new answers bring up. The old answers are
        offered again."""
        for key in (*keys, *(key for key in self.answers if key.startswith(RETIRED))):
            if key in self.answers:
                self._before[key] = self.answers.pop(key)
        self.now = self._again()

    def retire(self, cases: Sequence[str], reason: str) -> None:
        """Takes cases of the book out for this reason, until an answer is changed. Raises BadAnswer for no reason."""
        told = text(reason)
        self.answers |= {f"{RETIRED}{case}": told for case in cases}
        self.now = self._again()

    def _again(self) -> Question | Draft:
        """Goes through the interview with the answers that still hold, to the first question without one."""
        self.asked = []
        self._walks.answered = tuple(key.removeprefix(READS) for key in self.answers if key.startswith(READS))
        asking = interview(self.ground, self.seed, self._walks)
        try:
            question = next(asking)
            while True:
                answer = self._kept(question)
                if answer is None:
                    return self._offered(question)
                self.asked.append(Asked(question, answer))
                question = asking.send(answer)
        except StopIteration as end:
            draft: Draft = end.value
            found = {key.removeprefix(RETIRED): why for key, why in self.answers.items() if key.startswith(RETIRED)}
            return replace(draft, retired=found)

    def _offered(self, question: Question) -> Question:
        """The question with the answer that it had before, if that is one still."""
        answer = self._before.get(question.key)
        if answer is None:
            return question
        try:
            question.take(answer)
        except BadAnswer:
            return question
        shown = Asked(question, answer).in_words if answer else question.default_words or NONE
        return proposing(question, answer, f"{shown}, as you had it")

    def _kept(self, question: Question) -> str | None:
        answer = self.answers.get(question.key)
        if answer is None:
            return None
        try:
            return question.take(answer)
        except BadAnswer:
            del self.answers[question.key]
            return None
