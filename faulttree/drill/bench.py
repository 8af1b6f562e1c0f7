"""What all drills of one book share: belief, advice, what may be drawn, and what tempts a learner."""

from __future__ import annotations

from collections import Counter
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
        found = in_order(self.book, self.how_common)
        return tuple(c for c in found if self.binds(c) and c not in self.book.standing_cautions)

    @cached_property
    def how_common(self) -> Counter[str]:
        """On how many steps, conditions and parts a caution hangs: one that hangs on many says little of any."""
        book = self.book
        hang = [
            *(check.cautions for check in book.checks.values()),
            *(action.cautions for action in book.actions.values()),
            *(condition.cautions for condition in book.conditions.values()),
            *(component.cautions for component in book.components.values()),
        ]
        return Counter(caution for cautions in hang for caution in cautions)

    @cached_property
    def wanted_conditions(self) -> frozenset[str]:
        """Conditions that some step of this book at these options needs; the others belong to other gears."""
        book, moves = self.book, self.advisor.moves
        needs = [
            *(check.needs for check in book.checks.values() if check.proposed),
            *(action.needs for action in book.actions.values()),
            *(answer.first for question in book.opening for answer in question.answers),
        ]
        return frozenset().union(*(moves.closure(those) for those in needs))

    def binds(self, caution: str) -> bool:
        """Whether it is more than a NOTE."""
        return self.book.cautions[caution].level != "NOTE"

    def warns(self, caution: str) -> bool:
        """Whether a person can be hurt."""
        return self.book.cautions[caution].level == "WARNING"
