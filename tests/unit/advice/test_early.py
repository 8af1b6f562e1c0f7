"""What is set up early because the next step would bar it, and where that is not asked."""

from __future__ import annotations

import pytest

from faulttree.advice import Advisor, Figures, Situation
from faulttree.advice.advisor import Round
from faulttree.advice.choice import HELP, PROVE, Step
from faulttree.advice.early import early_variants
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import THE_SQUAWK, Check, Outcome
from tests.support.books import action, check, condition, fault, gate, make_book, symptom


@pytest.fixture(scope="module")
def made() -> Round:
    """A look on jacks and one behind a panel that is moved only off the jacks; repairs and proof on jacks."""
    outcomes = (Outcome("squawk", "squawk", THE_SQUAWK, 0.9), Outcome("gone", "gone", None, 1.0))
    book = make_book(
        [fault("f.a", probability=0.2), fault("f.b", probability=0.1)],
        events=[gate("any", "any_of", "f.a", "f.b")],
        symptoms=[symptom("s", "any", unlisted=0.1)],
        checks=[
            check("on-jacks", seen="f.a", needs=("jacks",)),
            check("behind", seen="f.b", needs=("panel",)),
            Check("asked", "asked", "ask", "squawk", check("x", heard="f.a").outcomes, 0.02, 1.0, needs=("jacks",)),
            Check("proof", "proof", "test", "now", outcomes, 0.0, 15.0, needs=("jacks",), proof=True),
        ],
        actions=[action("mend-a", "f.a", needs=("jacks",)), action("mend-b", "f.b", needs=("jacks",))],
        conditions=[condition("jacks", 20.0, 5.0), condition("panel", 30.0, 10.0, not_while=("jacks",))],
    )
    figures = Figures(care=0.0, wait_weight=0.0, help=1000.0, comeback=300.0)
    return Round(Advisor(book, figures), Believer(book).believe(Evidence((Reported("s"),))), Situation())


def variants(made: Round, *steps: Step) -> list[Step]:
    return list(early_variants(made.play, made.state, steps))


def place(made: Round, name: str) -> int:
    return next(c for c, each in enumerate(made.job.checks) if each.id == name)


def test_what_a_step_would_bar_is_set_up_before_it(made: Round) -> None:
    """The panel comes out before the jacks go in, for a check and for a repair."""
    for step in (Step("check", place(made, "on-jacks")), Step("act", 0)):
        assert variants(made, step) == [step._replace(also=("panel",))]


def test_what_bars_nothing_has_no_variant(made: Round) -> None:
    """Jacks can go in with the panel out."""
    assert variants(made, Step("check", place(made, "behind"))) == []


def test_a_question_sets_nothing_up_early(made: Round) -> None:
    """It moves nothing."""
    assert variants(made, Step("check", place(made, "asked"))) == []


@pytest.mark.parametrize("step", [HELP, PROVE, Step("act", 0, ("panel",))], ids=["help", "proof", "early already"])
def test_neither_help_nor_a_proof_nor_a_variant_has_one(made: Round, step: Step) -> None:
    """Only checks and repairs as they are."""
    assert variants(made, step) == []
