"""What all drills of one book share: belief, advice, what may be drawn, and what tempts a learner."""

from __future__ import annotations

from functools import cached_property

from faulttree.advice import Advisor, Figures
from faulttree.advice.cautions import in_order
from faulttree.belief import Believer
from faulttree.book.drills import Practice
from faulttree.book.model import Book
from faulttree.drill.drawing import AT_ONCE, Drawing


class Bench:
    """One book made ready for drills. What it keeps between drills is a cache."""

    def __init__(self, book: Book, practice: Practice | None = None, figures: Figures | None = None) -> None:
        self.book, self.practice = book, practice or Practice()
        self.believer = Believer(book, AT_ONCE)
        self.advisor = Advisor(book, figures)
        self.drawing = Drawing(book, self.believer, self.practice)

    @cached_property
    def cautions_of_work(self) -> tuple[str, ...]:
        """WARNINGs and CAUTIONs that hang on some step, condition or part of this book, WARNINGs first."""
        book = self.book
        hang = [
            *(check.cautions for check in book.checks.values()),
            *(action.cautions for action in book.actions.values()),
            *(condition.cautions for condition in book.conditions.values()),
            *(component.cautions for component in book.components.values()),
        ]
        found = in_order(book, (caution for cautions in hang for caution in cautions))
        return tuple(c for c in found if self.binds(c) and c not in book.standing_cautions)

    def binds(self, caution: str) -> bool:
        """Whether it is more than a NOTE."""
        return self.book.cautions[caution].level != "NOTE"

    def warns(self, caution: str) -> bool:
        """Whether a person can be hurt."""
        return self.book.cautions[caution].level == "WARNING"
