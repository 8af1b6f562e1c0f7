"""Plans of numbered steps: what is remembered costs nothing, and values agree with what comes along the ways."""

from __future__ import annotations

import pytest

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.belief import Believer, Evidence, Reported
from faulttree.workshop.plan import END, HELP, START, Plan
from faulttree.workshop.planning import Gardener, grown
from faulttree.workshop.room import Room
from faulttree.workshop.ways import Step
from tests.support.small_family import small_book as book

CHECK, ACT = Step("check", 0), Step("act", 0)
ROOM = 60.0


def plan() -> Plan:
    """An empty one for the small book."""
    belief = Believer(book()).believe(Evidence((Reported("stays-down"),)))
    return Plan(Round(Advisor(book()), belief, Situation()))


def one_after_another(steps: list[Step]) -> Plan:
    """Steps that lead on whatever they show, help at the end."""
    made, following = plan(), HELP
    for step in reversed(steps):
        many = len(made.job.checks[step.place].outcomes) if step.kind == "check" else 1
        following = made.add(step, [*([END] if step.kind == "act" else []), *[following] * many])
    made.lead(START, following)
    return made


@pytest.mark.parametrize("step", [CHECK, ACT])
def test_what_was_done_costs_nothing_when_it_is_met_again(step: Step) -> None:
    """A check shows what it showed; a repair that was tried has failed."""
    assert one_after_another([step, step]).whole() == pytest.approx(one_after_another([step]).whole(), rel=1e-4)


def test_a_check_is_done_again_after_a_repair() -> None:
    """What it showed before tells nothing of the gear as it stands; a question about the squawk is answered."""
    job = plan().job
    now, lasting = (next(c for c in range(len(job.checks)) if (c in job.lasting) is asked) for asked in (False, True))
    costs = [
        one_after_another([Step("check", c), ACT, Step("check", c)]).whole()
        - one_after_another([Step("check", c), ACT]).whole()
        for c in (now, lasting)
    ]
    assert costs[0] > 0.1
    assert costs[1] == pytest.approx(0.0, abs=0.01)


def test_values_agree_with_what_comes_along_the_ways() -> None:
    """Backwards over the steps and forwards over the ways, the same minutes; nothing is remembered here."""
    made = one_after_another([CHECK, ACT])
    value = float(made.job.weights @ made.value(made.root, frozenset(), 0))
    assert value == pytest.approx(made.whole(), rel=1e-4)


def test_a_grown_plan_has_its_room_and_beats_help_at_once() -> None:
    """No more lines than were given."""
    made = grown(plan().round, ROOM)
    assert Room(made).taken() <= ROOM
    assert made.whole() < made.help


def test_a_plan_without_any_room_is_the_call_for_help() -> None:
    """And taking out comes to an end."""
    made = grown(plan().round, ROOM)
    Gardener(made).cut_back(0.0)
    assert list(made.order()) == [HELP]
