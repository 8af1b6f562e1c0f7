"""Where refined advice would have gone another way than a learner did."""

from __future__ import annotations

from faulttree.drill.acts import Act
from faulttree.drill.advised import Advised
from faulttree.drill.instead import MOST, instead
from tests.unit.drill.on_the_bench import asked, bench, drill, up


def test_nothing_is_said_of_a_path_that_the_advice_took() -> None:
    """The advisor's own."""
    advised = Advised(bench())
    assert instead(advised.work(drill("guard-switch.stuck").setting), advised) == ()


def test_a_repair_before_a_question_of_a_minute_is_told() -> None:
    """When the learner turned to it, before the jacks, with what it costs against the better step."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("repair", "mend-lead"))
    (one,) = instead(play, Advised(bench()))
    assert (one.at, one.did, one.better) == (0.0, "Mend the lead", "Motor heard")
    assert one.minutes is not None
    assert one.minutes > 60


def test_what_is_as_good_played_to_the_end_is_not_told() -> None:
    """The quick advice asks first, by an estimate; the meter at once takes as long by the refined one."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("check", "switch-continuity"))
    assert instead(play, Advised(bench())) == ()


def test_what_was_stopped_was_no_step() -> None:
    """The refusal said all there is to say."""
    play = drill("guard-switch.stuck")
    play.take(Act("check", "switch-continuity"))
    assert instead(play, Advised(bench())) == ()


def test_only_the_worst_points_are_told() -> None:
    """So that a debrief takes some seconds, however long the drill was."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "motor-breaker-pulled", "on-jacks")
    for _ in range(6):
        play.take(Act("check", "switch-continuity"))
    assert len(instead(play, Advised(bench()))) <= MOST
