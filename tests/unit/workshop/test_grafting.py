"""Steps put in where ways come together, and taken out again: each bears out on the whole."""

from __future__ import annotations

import pytest

from faulttree.workshop.flows import UNTOUCHED
from faulttree.workshop.grafting import Grafter
from faulttree.workshop.graph import END, HELP, START
from faulttree.workshop.growing import grown
from faulttree.workshop.plan import Plan
from faulttree.workshop.planning import Gardener
from faulttree.workshop.ways import Step
from faulttree.workshop.weeding import Weeder
from tests.unit.workshop.test_plan import ROOM, plan


def parted() -> Plan:
    """A check whose outcomes all lead to help: the ways come together there."""
    made = plan()
    many = len(made.job.checks[0].outcomes)
    made.lead(START, made.add(Step("check", 0), [HELP] * many))
    return made


def afresh(made: Plan) -> Plan:
    """The same steps in a plan that nothing is remembered of."""
    other = Plan(made.round, made.costs.help / made.job.figures.help)
    other.facts.ticked, other.forgetful = made.facts.ticked, made.forgetful
    other.restore(*made.kept()[:2])
    return other


def test_a_step_is_put_in_before_help_for_all_that_gain_by_it() -> None:
    """What saves on several ways stands once."""
    made = parted()
    before = made.whole()
    Grafter(Gardener(made)).graft(ROOM)
    assert made.whole() < before
    assert HELP not in made.nodes[made.root].to
    assert len(set(made.nodes[made.root].to)) < len(made.nodes[made.root].to)


@pytest.mark.parametrize("room", [ROOM / 2, ROOM])
def test_grafting_makes_a_plan_no_dearer(room: float) -> None:
    made = grown(plan().round, ROOM / 2)
    before = made.whole()
    Grafter(Gardener(made)).graft(room)
    assert made.whole() <= before


def test_a_trial_leaves_nothing_behind() -> None:
    """A place before which nothing saves anything is as it was, to the number that comes next."""
    made = grown(plan().round, ROOM)
    gardener = Gardener(made)
    Grafter(gardener).graft(10 * ROOM)
    kept, unused = made.kept()[:2], made.unused
    Grafter(gardener).graft(10 * ROOM)
    assert (made.kept()[:2], made.unused) == (kept, unused)


def test_weeding_keeps_to_its_room_and_to_so_many_steps() -> None:
    made = grown(plan().round, ROOM)
    weeder = Weeder(Gardener(made))
    weeder.weed(0.7 * ROOM)
    assert weeder.gardener.room.taken() <= 0.7 * ROOM
    weeder.weed(ROOM, steps=3)
    assert len(made.order()) <= 3


def test_what_is_led_anew_makes_the_whole_no_dearer() -> None:
    """Here a repair leads to help though another could follow."""
    made = plan()
    last = made.add(Step("act", 1), [END, HELP])
    first = made.add(Step("act", 0), [END, HELP])
    many = len(made.job.checks[0].outcomes)
    made.lead(START, made.add(Step("check", 0), [first, *[last] * (many - 1)]))
    before = made.whole()
    Weeder(Gardener(made)).lead_anew()
    assert made.whole() < before


def test_what_comes_along_is_the_same_as_worked_out_afresh() -> None:
    """After steps were put in, taken out and led elsewhere."""
    made = grown(plan().round, ROOM)
    gardener = Gardener(made)
    Grafter(gardener).graft(1.3 * ROOM)
    Weeder(gardener).weed(0.8 * ROOM)
    assert made.looked_over().worth == pytest.approx(afresh(made).looked_over().worth, rel=1e-12)


def test_what_did_not_change_is_not_worked_out_again() -> None:
    """Before a change, what leaves a step is the very same; after it, it is not."""
    made = grown(plan().round, ROOM)
    first = made.poured.poured()
    again = made.poured.poured()
    assert all(again[n] is one for n, one in first.items())
    last = next(n for n in reversed(made.order()) if n != HELP)
    edge = next((n, o) for n in made.order() if n != HELP for o, t in enumerate(made.nodes[n].to) if t == last)
    made.lead(edge, HELP)
    changed = made.poured.poured()
    assert changed[made.root] is first[made.root]
    assert changed[HELP] is not first[HELP]


def test_all_that_comes_along_is_told_of_help_alone() -> None:
    """A plan of nothing but the call for help."""
    made = plan()
    assert made.poured.poured()[HELP].flow == {UNTOUCHED: made.job.weights}
    assert made.whole() == pytest.approx(made.costs.help)
