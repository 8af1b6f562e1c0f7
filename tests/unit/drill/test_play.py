"""A drill from its first act to its end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.book.drills import Practice, Quizzed
from faulttree.book.model import Caution, Component, OpeningAnswer, OpeningQuestion
from faulttree.drill.acts import Act, act_from
from faulttree.drill.advised import Advised
from faulttree.drill.bench import Bench
from faulttree.drill.debrief import MISREAD, debrief
from faulttree.drill.drawing import Setting
from faulttree.drill.gear import Hidden, Modes
from faulttree.drill.instead import Instead
from faulttree.drill.play import HELP, MOST_ACTS, SOLVED, Play
from faulttree.errors import BadCase
from faulttree_cli.screens.drill import left_the_way
from tests.support.books import action, check, fault, make_book, symptom
from tests.unit.drill.on_the_bench import asked, bench, drill, up


def solved(seed: int = 2) -> Play:
    """A drill worked without a detour, with no caution named and no follow-up planned."""
    play = up(asked(drill("guard-switch.stuck", seed=seed)), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("repair", "replace-guard-switch", cause="guard-switch.stuck"))
    play.take(Act("restore", "motor-breaker-pulled"))
    up(play, "external-power", "gear-powered")
    play.take(Act("check", "cycle-test"))
    play.take(Act("restore-all"))
    play.take(Act("finish"))
    return play


def test_minutes_are_those_of_the_book() -> None:
    """Each set-up, the repair, the proof, and all that is put back."""
    book, play = bench().book, solved()
    names = ("secured", "motor-breaker-pulled", "on-jacks", "external-power", "gear-powered")
    moved = sum(book.conditions[c].set_up_minutes + book.conditions[c].restore_minutes for c in names)
    done = book.actions["replace-guard-switch"].minutes + book.checks["cycle-test"].minutes
    assert (play.ended, play.minutes) == (SOLVED, moved + done)


def test_played_again_it_is_the_same() -> None:
    """A drill is its setting and its acts, also as plain data."""
    play = solved()
    again = Play(bench(), play.setting).replay(act_from(act.as_data()) for act in play.acts)
    assert (again.told, again.ended, again.minutes) == (play.told, play.ended, play.minutes)


def test_a_list_of_cautions_holds_some_that_apply_and_some_that_do_not() -> None:
    """At most three of each; naming just those that apply leaves nothing out."""
    play = asked(drill("guard-switch.stuck"))
    quiz = play.quiz(Act("set-up", "secured"))
    assert quiz is not None
    assert set(quiz.true) < set(quiz.asked)
    assert not set(quiz.asked).difference(quiz.true).intersection(quiz.shown)
    told = play.take(Act("set-up", "secured", claims=quiz.true))
    assert (told.missed, told.wrong) == ((), ())


def lamp(kind: str, practice: Practice | None = None) -> Play:
    """A step with a caution of its own and one of the part that it asks about."""
    book = make_book(
        faults=[fault("lamp.dead", corrected_by=("new-lamp",))],
        symptoms=[symptom("dark", "lamp.dead", "dark")],
        checks=[check("step", kind=kind, dead="lamp.dead", cautions=("own",))],
        actions=[action("new-lamp", "lamp.dead")],
        components=[Component("lamp", "Lamp", cautions=("of-part",))],
        cautions=[Caution("own", "WARNING", "Own."), Caution("of-part", "WARNING", "Part.")],
        opening=[OpeningQuestion("lit", "Lit?", (OpeningAnswer("yes", "Yes"), OpeningAnswer("no", "No")))],
    )
    modes = Modes(frozenset(["lamp.dead"]))
    setting = Setting(1, 1, ("dark",), Hidden(modes, modes), "one fault", "dark", opening={"lit": "no"})
    return asked(Play(Bench(book, practice), setting))


@pytest.mark.parametrize(("kind", "true"), [("look", ["own"]), ("test", ["of-part", "own"])])
def test_for_a_look_no_caution_of_a_part_is_asked_for(kind: str, true: list[str]) -> None:
    """It is shown all the same; a test touches the part."""
    quiz = lamp(kind).quiz(Act("check", "step"))
    assert quiz is not None
    assert (sorted(quiz.true), sorted(quiz.new)) == (true, ["of-part", "own"])


@pytest.mark.parametrize(("answers", "asked_for"), [(("yes",), False), (("no",), True)])
def test_what_the_opening_answers_rule_out_is_not_asked_for(answers: tuple[str, ...], asked_for: bool) -> None:
    """The pilot said no: what speaks of a yes cannot apply, and is shown without a question."""
    quiz = lamp("look", Practice(quizzed={"own": Quizzed({"lit": answers})})).quiz(Act("check", "step"))
    assert quiz is not None
    assert (bool(quiz.asked), "own" in quiz.new) == (asked_for, True)


def test_what_was_not_named_is_counted_and_not_asked_again() -> None:
    """The cautions are read then; the next step asks only for new ones."""
    play = asked(drill("guard-switch.stuck"))
    quiz = play.quiz(Act("set-up", "secured"))
    assert quiz is not None
    wrong = next(c for c in quiz.asked if c not in quiz.true)
    told = play.take(Act("set-up", "secured", claims=(wrong,)))
    assert (told.missed, told.wrong) == (quiz.true, (wrong,))
    again = play.quiz(Act("set-up", "motor-breaker-pulled"))
    assert again is None or not set(again.asked).intersection(quiz.true)


def test_a_repair_of_what_is_good_is_wasted() -> None:
    """Whatever its proof shows."""
    play = up(asked(drill("motor.brushes-worn")), "secured", "motor-breaker-pulled", "on-jacks")
    assert play.take(Act("repair", "replace-guard-switch")).wasted


def test_follow_ups_that_were_left_out_are_told() -> None:
    """The proof is due after every repair."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "motor-breaker-pulled", "on-jacks")
    assert play.take(Act("repair", "replace-guard-switch")).unplanned == ("cycle-test",)


def test_what_is_due_is_told_with_what_was_named_for_nothing() -> None:
    """After the learner chose: the checks due, and the named ones that are not; both counted in the debrief."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "motor-breaker-pulled", "on-jacks")
    told = play.take(Act("repair", "replace-guard-switch", follow_up=("switch-continuity",)))
    assert (told.due, told.unplanned, told.needless) == (("cycle-test",), ("cycle-test",), ("switch-continuity",))
    play.take(Act("help"))
    score = debrief(play, Advised(bench())).score
    assert (score.unplanned, score.needless) == (1, 1)


def test_steps_out_of_order_are_counted_apart() -> None:
    """The gear made ready before the supply is plugged in: nothing unsafe."""
    play = up(asked(drill("guard-switch.stuck")), "secured", "on-jacks")
    play.take(Act("set-up", "gear-powered"))
    play.take(Act("help"))
    score = debrief(play, Advised(bench())).score
    assert (score.unsafe, score.out_of_order) == (0, 1)


def test_every_drill_ends() -> None:
    """One in which nothing sensible is done is handed over after so many acts."""
    play = drill("guard-switch.stuck")
    for _ in range(MOST_ACTS):
        play.take(Act("set-up", "secured"))
    assert play.ended == HELP
    with pytest.raises(BadCase, match="ended"):
        play.take(Act("help"))


def test_the_debrief_counts_what_went_wrong() -> None:
    """Cautions and follow-ups that were not named; nothing unsafe, nothing wasted."""
    score = debrief(solved(), Advised(bench())).score
    assert (score.unsafe, score.wasted, score.wrong_cause, score.unplanned) == (0, 0, 0, 1)
    assert score.missed > 0


def test_the_debrief_names_the_cautions_that_were_not_named() -> None:
    """By their first words, at the step: a count alone teaches nobody."""
    play = solved()
    told = debrief(play, Advised(bench()))
    first = next(each for each in play.told if each.missed)
    words = play.book.cautions[first.missed[0]].text.split()[:3]
    assert any("not named: " in wrong and " ".join(words) in wrong for line in told.learner for wrong in line.wrong)


def test_what_was_ruled_out_too_early_is_told_at_its_place() -> None:
    """The likeliest part cleared before anything was found; and not once it was seen closed and steady."""
    play = asked(drill("guard-switch.stuck"))
    play.take(Act("rule-out", "guard-switch"))
    play.take(Act("help"))
    given = debrief(play, Advised(bench()))
    assert [line.what for line in given.learner if MISREAD in line.wrong] == ["Ruled out: Guard switch"]


def test_the_advisor_works_the_same_gear_and_is_never_stopped() -> None:
    """With a debrief of its own path nothing is left to say against it but good advice for the next drill."""
    advised = Advised(bench())
    play = advised.work(drill("guard-switch.stuck").setting)
    score = debrief(play, advised).score
    assert (score.minutes, score.unsafe, score.missed, score.unplanned) == (score.best, 0, 0, 0)


def test_nobody_is_quicker_than_who_knows_the_cause() -> None:
    """The shortest way that the rules allow bounds the advisor's from below, where its drill was solved at once."""
    for name in bench().book.faults:
        given = debrief(Advised(bench()).work(drill(name).setting), Advised(bench()))
        assert given.score.shortest is not None
        assert given.score.shortest <= given.score.best


def test_three_lines_say_what_to_practise() -> None:
    """Always three, of different things."""
    for play in (solved(), Advised(bench()).work(drill("motor.brushes-worn").setting)):
        assert len(set(debrief(play, Advised(bench())).practise)) == 3


def test_an_act_of_another_version_is_told() -> None:
    """And so is one that is no act at all."""
    with pytest.raises(BadCase, match="does not know"):
        act_from({"kind": "dance"})
    with pytest.raises(BadCase, match="cannot be read"):
        act_from({})


def test_a_value_read_wrong_is_told() -> None:
    """Said to mean another outcome than it shows; it counts among what was misread."""
    play = asked(drill("motor.brushes-worn"))
    shown = play.take(Act("check", "motor-sound")).outcome
    other = next(o.id for o in bench().book.checks["motor-sound"].outcomes if o.id != shown)
    assert not play.take(Act("judge", "motor-sound", cause=shown)).misjudged
    assert play.take(Act("judge", "motor-sound", cause=other)).misjudged
    play.take(Act("help"))
    assert debrief(play, Advised(bench())).score.misread == 1


def test_a_repair_that_did_not_hold_is_not_called_a_good_part_replaced() -> None:
    """By this seed the first repair of the right switch fails, as five in a hundred do."""
    play = up(asked(drill("guard-switch.stuck", seed=1)), "secured", "motor-breaker-pulled", "on-jacks")
    told = play.take(Act("repair", "replace-guard-switch"))
    assert (told.wasted, told.held) == (False, False)


def test_a_wrong_name_for_what_was_mended_is_told_as_that() -> None:
    """The repair was the right one, though another fault was named: no word that it was not the cause."""
    play = up(asked(drill("guard-switch.stuck", seed=2)), "secured", "motor-breaker-pulled", "on-jacks")
    play.take(Act("repair", "replace-guard-switch", cause="motor.brushes-worn"))
    play.take(Act("help"))
    line = next(line for line in debrief(play, Advised(bench())).learner if line.kind == "repair")
    assert line.settled == "Was wrong, and is mended"
    assert "another cause was named than the one that it mended" in line.wrong


def test_the_first_page_tells_where_the_good_way_was_left() -> None:
    """The first of the steps at which another was the better one, and no line where there is none."""
    given = debrief(solved(), Advised(bench()))
    better = (Instead(3.0, "This", "That", 9.0), Instead(8.0, "Other", "Else", 9.0))
    assert left_the_way(replace(given, instead=better)) == ["Left the good way at minute 3: This; better: That."]
    assert left_the_way(replace(given, instead=())) == []
