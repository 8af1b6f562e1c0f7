"""What was found, said in a hangar's words, on the shipped book: the cause that is meant is listed."""

from __future__ import annotations

import pytest

from faulttree.advice import Advisor
from faulttree.belief import Believer, Evidence, Reported
from faulttree.dialogue import work
from tests.jobs.run import shipped_book


@pytest.mark.parametrize(
    ("family", "squawk", "said", "meant"),
    [
        ("engine-driven", "no-down-indication", "sw on left lock wont make", "down-lock-switch-left.makes-late"),
        ("engine-driven", "fluid-loss", "burst hose", "hydraulic-line.burst"),
        ("electromechanical", "will-not-retract", "motor brushes worn out", "gear-motor.brushes-worn"),
    ],
)
def test_the_cause_that_is_meant_comes_first(family: str, squawk: str, said: str, meant: str) -> None:
    """Short words are taken for what they stand for, and what is likely is meant rather than what is not."""
    book = shipped_book(family)
    belief = Believer(book).believe(Evidence((Reported(squawk),)))
    listed = work.found_by_words(Advisor(book), belief, said).choices
    assert book.faults[listed[0].value].name == book.faults[meant].name
