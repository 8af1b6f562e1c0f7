"""What a learner may choose from: only what this gear has, under numbers that stay."""

from __future__ import annotations

from faulttree.drill import menus
from faulttree.drill.acts import Act
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import Setting
from faulttree.drill.gear import Hidden, Modes
from faulttree.drill.menus import Item
from faulttree.drill.play import Play
from tests.support.books import action, check, condition, fault, make_book, symptom
from tests.unit.drill.on_the_bench import asked, drill, up


def numbers(items: list[Item]) -> dict[str, int]:
    """By what is chosen."""
    return {item.act.id or item.act.cause: item.number for item in items}


def test_a_question_that_was_asked_leaves_its_number_to_nobody() -> None:
    """What is left keeps its own."""
    play = drill("guard-switch.stuck")
    before = numbers(menus.questions(play))
    play.take(Act("opening", "lowered-by-emergency-means"))
    del before["lowered-by-emergency-means"]
    assert numbers(menus.questions(play)) == before
    assert len(set(before.values())) == len(before) == 2


def test_a_repair_moves_no_number() -> None:
    """The proof that is due now comes behind all that stood there."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "motor-breaker-pulled", "on-jacks")
    before = numbers(menus.looks(play))
    play.take(Act("repair", "replace-guard-switch"))
    after = numbers(menus.looks(play))
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == {"cycle-test"}
    assert after["cycle-test"] > max(before.values())


def test_a_part_that_was_cleared_keeps_its_number() -> None:
    """In the list of what can be blamed it comes last, as it was numbered."""
    play = asked(drill("guard-switch.stuck"))
    before = numbers(menus.blamed(play))
    play.take(Act("rule-out", "guard-switch"))
    assert numbers(menus.blamed(play)) == before
    assert [item.act.cause for item in menus.blamed(play)] == ["motor", "guard-switch"]


def test_only_set_ups_that_a_step_of_this_gear_needs_are_offered() -> None:
    """The shared knowledge has a crank and a cart; this gear has a lamp that wants the master on, and that a ladder."""
    book = make_book(
        faults=[fault("lamp.dead", corrected_by=("new-lamp",))],
        symptoms=[symptom("dark", "lamp.dead", "dark")],
        checks=[check("look", dead="lamp.dead", needs=("master-on",)), check("proof", proof=True, squawk="the-squawk")],
        actions=[action("new-lamp", "lamp.dead")],
        conditions=[condition("ladder"), condition("master-on", implies=("ladder",)), condition("crank-engaged")],
    )
    modes = Modes(frozenset(["lamp.dead"]))
    play = Play(Bench(book), Setting(1, 1, ("dark",), Hidden(modes, modes), "one fault", "dark"))
    assert [item.act.id for item in menus.conditions(play)] == ["ladder", "master-on"]


def test_what_tempts_has_minutes_as_any_other_step() -> None:
    """Else it alone would lack them, and tell what it is."""
    notes = {item.act.kind: item.note for item in menus.looks(asked(drill("guard-switch.stuck")))}
    assert notes["tempted"] == notes["check"] == "10 min"
