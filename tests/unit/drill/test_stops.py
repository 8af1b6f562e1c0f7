"""What a drill stops, each for its own reason."""

from __future__ import annotations

import pytest

from faulttree.book.model import Caution
from faulttree.drill.acts import Act
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import Setting
from faulttree.drill.gear import Hidden, Modes
from faulttree.drill.play import Play
from faulttree.errors import BadCase
from tests.support.books import action, check, condition, fault, make_book, symptom
from tests.unit.drill.on_the_bench import asked, drill, stop_of, up


def test_nothing_is_touched_before_it_is_asked_how_the_aircraft_stands() -> None:
    """The opening questions come first; the cautions of their answers are what could have happened."""
    told = drill("motor.brushes-worn").take(Act("set-up", "secured"))
    assert stop_of(told) == ("opening", True)


def test_what_is_implied_is_set_up_first() -> None:
    """No jacks under an aircraft that is not secured."""
    assert stop_of(asked(drill("motor.brushes-worn")).take(Act("set-up", "on-jacks"))) == ("order", True)


def test_what_the_jacks_bar_comes_before_them() -> None:
    """The floor panel comes out on the wheels."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "on-jacks")
    assert stop_of(play.take(Act("set-up", "floor-panel-out"))) == ("order", True)


def test_power_never_goes_on_what_excludes_it() -> None:
    """With the motor breaker pulled the gear is not made ready to run."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "motor-breaker-pulled", "on-jacks", "external-power")
    assert stop_of(play.take(Act("set-up", "gear-powered"))) == ("order", True)


def test_the_aircraft_is_not_let_down_under_a_condition_that_rests_on_the_jacks() -> None:
    """What implies it is put back first."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "motor-breaker-pulled", "on-jacks", "crank-engaged")
    assert stop_of(play.take(Act("restore", "on-jacks"))) == ("order", True)


def test_the_guard_is_not_metered_on_the_wheels() -> None:
    """The check needs jacks and the breaker out."""
    assert stop_of(asked(drill("guard-switch.stuck")).take(Act("check", "switch-continuity"))) == ("exposed", True)


def test_the_caution_that_says_most_of_what_is_missing_is_told_first() -> None:
    """One of the missing condition alone, before one of equal level that hangs on everything."""
    cautions = [Caution("any", "WARNING", "Mind all."), Caution("jacks", "WARNING", "It falls.")]
    book = make_book(
        faults=[fault("lamp.dead", corrected_by=("new-lamp",))],
        symptoms=[symptom("dark", "lamp.dead", "dark")],
        conditions=[condition("up", cautions=("any", "jacks")), condition("safe", cautions=("any",))],
        checks=[check("look", kind="look", dead="lamp.dead", needs=("up", "safe"), cautions=("any",))],
        actions=[action("new-lamp", "lamp.dead")],
        cautions=cautions,
    )
    modes = Modes(frozenset(["lamp.dead"]))
    told = Play(Bench(book), Setting(1, 1, ("dark",), Hidden(modes, modes), "one fault", "dark")).take(
        Act("check", "look")
    )
    assert told.stop is not None
    assert (told.stop.cautions, told.stop.reason) == (("jacks", "any"), "look wants first: 1 set up up, 2 set up safe.")


def test_hands_keep_away_from_a_gear_under_power() -> None:
    """The check wants the breaker pulled, which never stands with power on the gear."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "on-jacks", "external-power", "gear-powered")
    told = play.take(Act("check", "switch-continuity"))
    assert stop_of(told) == ("exposed", True)
    assert told.stop is not None
    assert "hands-clear-of-moving-gear" in told.stop.cautions


def test_what_brings_no_harm_is_out_of_order() -> None:
    """The supply plugged in before the battery, the breaker pulled late: the wrong time, and nobody hurt by it."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "on-jacks")
    late = play.take(Act("set-up", "gear-powered"))
    assert (stop_of(late), late.stop is not None and late.stop.out_of_order) == (("order", False), True)
    assert late.stop is not None
    assert late.stop.cautions == ()


def test_what_takes_power_away_never_hurts() -> None:
    """The breaker may always be pulled, though not with the gear made ready to run."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "on-jacks", "external-power", "gear-powered")
    assert stop_of(play.take(Act("set-up", "motor-breaker-pulled"))) == ("order", False)


def test_a_step_that_only_lacks_access_or_power_is_out_of_order() -> None:
    """The proof wants the gear powered; on jacks, with nothing powered, nothing moves."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("repair", "replace-guard-switch"))
    assert stop_of(play.take(Act("check", "cycle-test"))) == ("exposed", False)


def test_a_good_part_replaced_unmeasured_hurts_nobody_and_a_switch_set_unmeasured_does() -> None:
    """Both are stopped; what has parts costs money, what is set may fold a leg."""
    for parts, danger in ((("Switch",), False), ((), True)):
        bench = unmeasured(parts)
        modes = Modes(frozenset(["lamp.dead"]))
        play = Play(bench, Setting(1, 1, ("dark",), Hidden(modes, modes), "one fault", "dark"))
        assert stop_of(play.take(Act("repair", "new-lamp"))) == ("unmeasured", danger)


def unmeasured(parts: tuple[str, ...]) -> Bench:
    """A lamp whose repair wants a look at it first, with a WARNING on it."""
    return Bench(
        make_book(
            faults=[fault("lamp.dead", corrected_by=("new-lamp",))],
            symptoms=[symptom("dark", "lamp.dead", "dark")],
            checks=[
                check("look", kind="look", dead="lamp.dead"),
                check("proof", proof=True, squawk="the-squawk"),
            ],
            actions=[action("new-lamp", "lamp.dead", parts=parts, after_any=("look",), cautions=("mind",))],
            cautions=[Caution("mind", "WARNING", "Mind the leg.")],
        )
    )


def test_temptations_are_stopped() -> None:
    """With the caution that speaks against them."""
    told = drill("guard-switch.stuck").take(Act("tempted", "up-on-wheels"))
    assert stop_of(told) == ("never", True)


def test_a_flight_never_looks_for_a_fault() -> None:
    """The condition may be recorded in a case, never set up in a drill."""
    assert stop_of(asked(drill("guard-switch.stuck")).take(Act("set-up", "flight"))) == ("never", True)


def test_a_job_is_not_done_without_a_proof() -> None:
    """Could not duplicate is no finding."""
    assert stop_of(asked(drill("guard-switch.stuck")).take(Act("finish"))) == ("never", True)


def test_a_proof_proves_a_repair() -> None:
    """Before there is one it makes no sense; nobody is in danger."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "on-jacks", "external-power", "gear-powered")
    assert stop_of(play.take(Act("check", "cycle-test"))) == ("nothing", False)


def test_each_repair_is_proved_before_the_next() -> None:
    """Else nobody knows which of them did it."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("repair", "mend-lead"))
    assert stop_of(play.take(Act("repair", "replace-guard-switch"))) == ("owed", False)


def test_what_stands_is_put_back_before_the_end() -> None:
    """A case does not close while something stands; nor does a drill."""
    play = up(asked(drill("guard-switch.stuck", seed=2)), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("repair", "replace-guard-switch"))
    play.take(Act("restore", "motor-breaker-pulled"))
    up(play, "external-power", "gear-powered")
    assert play.take(Act("check", "cycle-test")).outcome == "gone"
    assert stop_of(play.take(Act("finish"))) == ("owed", False)


def test_an_unknown_name_is_told() -> None:
    """No traceback for an act that names nothing of the book."""
    with pytest.raises(BadCase, match="no-such-check"):
        drill("guard-switch.stuck").take(Act("check", "no-such-check"))
