"""A job in play: when help is called, what is estimated, what waits through a question, what minutes go into."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import LIKELY, LOOKED_AHEAD, WORTHWHILE, Round
from faulttree.advice.choice import HELP, State, Step
from faulttree.belief import Believer, Evidence, Reported
from tests.unit.advice.two_faults import FIGURES, book, play


def test_help_is_called_where_it_costs_less_than_what_is_known_and_what_is_not() -> None:
    """The floor, and the bits unknown at the rate of the best step: bits by minutes, so that they are divided by it."""
    called = {}
    for help_costs in range(60, 400, 10):
        belief = Believer(book(), size_limit=1).believe(Evidence((Reported("s"),)))
        choice = Round(Advisor(book(), replace(FIGURES, help=float(help_costs))), belief, Situation()).plan
        if choice.ratio > 0:
            called[help_costs] = choice.step == HELP
            assert called[help_costs] == (help_costs < choice.floor + choice.unknown / choice.ratio), help_costs
    assert set(called.values()) == {True, False}


def test_what_is_hardly_ever_come_to_is_not_played_but_estimated() -> None:
    """Below trying one repair after another here, and below help."""
    made = play(book())
    choice = made.play.choice(made.state)
    estimate, trying = made.play.estimate(choice), made.play.repairs_only(made.state, choice, math.inf)[0]
    assert estimate < trying < FIGURES.help
    assert made.play.value(made.state, 1e-9) == pytest.approx(estimate)


@pytest.mark.parametrize(("kind", "left"), [("ask", ("jacks",)), ("look", ()), ("test", ())])
def test_what_has_to_be_set_up_first_waits_through_a_question(kind: str, left: tuple[str, ...]) -> None:
    """It is set up with the first step that is more than one."""
    made = book()
    asked = play(replace(made, checks={**made.checks, "look": replace(made.checks["look"], kind=kind)}))
    state = State(asked.job.weights, frozenset(), ("jacks",))
    _, branches = asked.play.branches(state, Step("check", 0))
    assert {branch.state.forced for branch in branches if branch.state is not None} == {left}


@pytest.mark.parametrize(("kind", "word", "other"), [("ask", "asking", "checking"), ("look", "checking", "asking")])
def test_minutes_to_go_tell_questions_from_checks(kind: str, word: str, other: str) -> None:
    made = book()
    asked = replace(made, checks={**made.checks, "look": replace(made.checks["look"], kind=kind)})
    belief = Believer(asked, size_limit=1).believe(Evidence((Reported("s"),)))
    to_go = Advisor(asked, FIGURES).advise(belief, Situation()).to_go
    assert to_go is not None
    assert to_go.split[word] >= 10.0  # once for sure, and again where a proof failed
    assert to_go.split[other] == 0.0


def test_a_repair_that_is_likely_right_leads_unless_the_check_before_it_saves_enough() -> None:
    """Both looked at deeper; for many lengths of repair, so that each of them leads now and then."""
    led = set()
    for minutes in (5.0, 20.0, 60.0, 200.0, 400.0):
        made = book()
        long = replace(made.actions["mend-a"], minutes=minutes, effective=0.98)
        likely = replace(made.faults["f.a"], probability=0.6)
        made = replace(made, actions={**made.actions, "mend-a": long}, faults={**made.faults, "f.a": likely})
        now = play(made)
        look, mend = Step("check", 0), Step("act", [a.id for a in now.job.actions].index("mend-a"))
        assert now.choice.success[mend.place] >= LIKELY
        deep = {step: now._deeper(now.state, step, LOOKED_AHEAD) for step in (look, mend)}
        leads = now._likely_instead(look)
        assert leads == (mend if deep[mend] <= (1.0 + WORTHWHILE) * deep[look] else look)
        led.add(leads)
    assert len(led) == 2
