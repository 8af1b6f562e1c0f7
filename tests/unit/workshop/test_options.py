"""What could stand in a place of a plan: a repair that may not be tried yet comes with all that has to come before."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.workshop.flows import UNTOUCHED
from faulttree.workshop.graph import HELP
from faulttree.workshop.options import MOST, PREPARED, Option, Options
from faulttree.workshop.plan import Plan
from faulttree.workshop.proposing import Proposer
from faulttree.workshop.ways import Behind
from tests.support.books import check
from tests.support.small_family import small_book

BRUSHES = "replace-brushes"


def wanting_book() -> Book:
    """Brushes are renewed only where the switch was measured, and that only once the motor was listened to."""
    known = small_book()
    check, act = known.checks["switch-continuity"], known.actions[BRUSHES]
    return replace(
        known, checks={**known.checks, check.id: replace(check, after=("motor-sound",))},
        actions={**known.actions, act.id: replace(act, after_any=(check.id,))},
    )  # fmt: skip


def prepared(known: Book, barring: str = "") -> tuple[Plan, dict[str, Option]]:
    """An empty plan, and its ways to repairs by their ids; ``barring`` a check whose first finding may stand."""
    belief = Believer(known).believe(Evidence((Reported("stays-down"),)))
    made = Plan(Round(Advisor(known), belief, Situation()))
    made.facts.ticked = True
    found = [c.id for c in made.job.checks].index(barring) if barring else 0
    behind = Behind(barring=1 << made.facts.first[found] if barring else 0)
    ways = Options(made, Proposer(made)).prepared({UNTOUCHED: made.job.weights}, {0: behind}, [HELP])
    return made, {list(steps_of(made, way))[-1]: way for way in ways}


def steps_of(made: Plan, option: Option | int) -> list[str]:
    """The steps from an option on, along the ways that lead further."""
    if isinstance(option, int):
        return []
    item = made.item(option.step)
    further = next((to for to in option.to if isinstance(to, Option)), HELP)
    return [f"{option.step.kind} {item.id}", *steps_of(made, further)]


def test_what_a_repair_wants_comes_before_it() -> None:
    """In the order in which it has to be done; help costs so much that it is worth that."""
    made, ways = prepared(wanting_book())
    assert steps_of(made, ways[f"act {BRUSHES}"]) == ["check motor-sound", "check switch-continuity", f"act {BRUSHES}"]


def test_it_saves_what_no_step_of_it_saves_alone() -> None:
    """Its worth is that of the whole way."""
    made, ways = prepared(wanting_book())
    assert ways[f"act {BRUSHES}"].worth < made.costs.help * float(made.job.weights.sum())


def test_what_may_speak_against_it_is_looked_up_first() -> None:
    """Whoever finds that ticked has no way to the repair; the others go on."""
    known = wanting_book()
    check = known.checks["motor-sound"]
    seen = (replace(check.outcomes[0], bars=("floor-panel-out",)), *check.outcomes[1:])
    made, ways = prepared(replace(known, checks={**known.checks, check.id: replace(check, outcomes=seen)}), check.id)
    way = ways[f"act {BRUSHES}"]
    assert steps_of(made, way)[0] == "back motor-sound"
    assert way.to[0] == HELP


def test_a_repair_that_may_be_tried_at_once_is_none_of_them() -> None:
    """It is proposed by itself."""
    _, ways = prepared(small_book())
    assert ways == {}


def test_a_way_does_not_go_on_where_the_repair_hardly_helps() -> None:
    """A motor that hums may be one of worn brushes, and five hours of renewing them pay; a silent one seldom is."""
    known = wanting_book()
    lead = replace(known.actions[BRUSHES], after_any=("motor-sound",), minutes=300.0)
    made, ways = prepared(replace(known, actions={**known.actions, BRUSHES: lead}))
    way = ways[f"act {BRUSHES}"]
    led = {o.id: isinstance(to, Option) for o, to in zip(made.item(way.step).outcomes, way.to, strict=True)}
    assert led == {"hummed": True, "silent": False}


def test_a_repair_that_costs_more_than_it_may_save_is_not_led_to() -> None:
    """A hundred hours."""
    known = wanting_book()
    long = replace(known.actions[BRUSHES], minutes=6000.0)
    _, ways = prepared(replace(known, actions={**known.actions, BRUSHES: long}))
    assert f"act {BRUSHES}" not in ways


def test_few_steps_are_weighed_for_one_repair(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many checks have to come before it, with however many outcomes."""
    known = small_book()
    names = [f"look-{n}" for n in range(6)]
    looks = {}
    for before, name in zip(["", *names], names, strict=False):
        told = {f"o{i}": fault for i, fault in enumerate(list(known.faults)[:5])}
        looks[name] = replace(check(name, minutes=1.0, detects=0.6, **told), after=(before,) if before else ())
    act = replace(known.actions[BRUSHES], after_any=(names[-1],))
    made_up = replace(known, checks={**known.checks, **looks}, actions={**known.actions, BRUSHES: act})
    weighed = []
    whole = Options._option

    def counted(self: Options, *given: Any) -> Option | None:
        weighed.append(given[0])
        return whole(self, *given)

    monkeypatch.setattr(Options, "_option", counted)
    prepared(made_up)
    assert len(weighed) <= PREPARED * MOST
