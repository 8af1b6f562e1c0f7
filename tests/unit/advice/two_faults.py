"""Two faults, a repair of each, a check, a proof: a job small enough for figures worked out by hand."""

from __future__ import annotations

from faulttree.advice import Advisor, Figures, Situation
from faulttree.advice.advisor import Round
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import THE_SQUAWK, Book, Check, Outcome
from tests.support.books import action, check, condition, fault, gate, make_book, symptom

A, B = 0.9 * 0.25 / (0.25 + 1 / 9), 0.9 * (1 / 9) / (0.25 + 1 / 9)
"""What a fifth and a tenth beforehand weigh against each other, a tenth taken by the unlisted cause."""
UNLISTED = 0.1
FAILS, FALSE = 0.9, 0.05
"""How often the proof shows a squawk that is there, and one that is not."""
FIGURES = Figures(care=0.0, wait_weight=0.0, help=1000.0, comeback=300.0)


def book() -> Book:
    outcomes = (Outcome("squawk", "squawk", THE_SQUAWK, FAILS), Outcome("gone", "gone", None, 1.0))
    return make_book(
        [fault("f.a", probability=0.2), fault("f.b", probability=0.1)],
        events=[gate("any", "any_of", "f.a", "f.b")],
        symptoms=[symptom("s", "any", unlisted=UNLISTED)],
        checks=[
            check("look", seen="f.a", minutes=10.0),
            Check("proof", "proof", "test", "now", outcomes, FALSE, 15.0, needs=("jacks",), proof=True),
        ],
        actions=[action("mend-a", "f.a", effective=0.8, minutes=60.0), action("mend-b", "f.b", minutes=30.0)],
        conditions=[condition("jacks", 20.0, 5.0)],
    )


def play(book: Book, situation: Situation | None = None) -> Round:
    """One fault at a time, so that there are four rows: a, b, nothing, and the unlisted cause."""
    belief = Believer(book, size_limit=1).believe(Evidence((Reported("s"),)))
    return Round(Advisor(book, FIGURES), belief, situation or Situation())
