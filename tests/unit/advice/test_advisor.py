"""Advice on small jobs, against what can be worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from faulttree.advice import Advice, Advisor, Budget, Figures, Situation, Stopped
from faulttree.advice.floor import Floor
from faulttree.advice.job import entropy
from faulttree.belief import Believer, Did, Evidence, Reported, plain
from faulttree.book.model import THE_SQUAWK, Book, Check, Outcome
from faulttree.conditions import Moves
from tests.jobs.bridge import Weighted, as_book, asked_for, where
from tests.jobs.model import Check as PlainCheck
from tests.jobs.model import Condition, Fault, Hypothesis, Job, Proof, begin
from tests.jobs.run import shipped_book
from tests.support.books import action, condition, fault, make_book, symptom
from tests.support.small_family import small_book


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def advise(book: Book, *answers: tuple[str, str], situation: Situation | None = None) -> list[str]:
    told = (Reported("stays-down"), *(plain(book, check, outcome) for check, outcome in answers))
    # What is due is due after a repair: without one the proof would surely fail, and wait.
    entries = (*told, Did("mend-lead")) if situation is not None and situation.acted else told
    advice = Advisor(book).advise(Believer(book).believe(Evidence(entries)), situation or Situation())
    return [suggestion.id for suggestion in advice.suggestions]


def test_a_question_comes_before_the_jacks(book: Book) -> None:
    """A minute of asking is cheaper for its bits than an hour of setting up (common practice, no source)."""
    assert advise(book)[0] == "motor-sound"


def test_a_cause_as_good_as_found_is_repaired(book: Book) -> None:
    """With the lead caught jumping the next step is to mend it."""
    assert advise(book, ("motor-sound", "silent"), ("switch-continuity", "jumps"))[0] == "mend-lead"


def test_what_is_done_is_not_proposed_again(book: Book) -> None:
    """A check done in this epoch is not among the suggestions."""
    done = Situation(done=frozenset({"motor-sound"}))
    assert "motor-sound" not in advise(book, ("motor-sound", "silent"), situation=done)


def test_owed_follow_ups_come_first(book: Book) -> None:
    """Whatever pays most, what is due after a repair comes before it."""
    assert advise(book, situation=Situation(owed=("cycle-test",), acted=True))[0] == "cycle-test"


def test_while_a_proof_is_owed_no_repair_is_offered_and_what_is_due_stands_once(book: Book) -> None:
    """One thing at a time: whoever repairs twice before a proof does not know what it was."""
    told = (Reported("stays-down"), plain(book, "motor-sound", "silent"), Did("mend-lead"))
    owed = Situation(owed=("cycle-test",), acted=True)
    offered = Advisor(book).advise(Believer(book).believe(Evidence(told)), owed).suggestions
    named = [one.id for one in offered]
    assert (named.count("cycle-test"), [one.id for one in offered if one.kind == "act"]) == (1, [])
    assert len(named) > 1  # else nothing else was offered either


def test_lacking_equipment_bars_the_step(book: Book) -> None:
    """Without a meter the continuity check is not offered."""
    assert "switch-continuity" not in advise(book, situation=Situation(lacking=frozenset({"multimeter"})))


def test_help_leads_where_it_is_cheap(book: Book) -> None:
    """A specialist for ten minutes is called at once."""
    figures = Figures(care=10, wait_weight=0.1, help=10, comeback=10)
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    assert Advisor(book, figures).advise(belief, Situation()).suggestions[0].kind == "help"


def test_the_cost_of_known_work_is_the_sum_of_its_moves(book: Book) -> None:
    """Mending the lead from wheels: set up, mend, prove, put all back, minute by minute, plus care for the hazards."""
    moves, figures = Moves(book.conditions), Figures(care=10, wait_weight=0.1, help=960, comeback=960)
    first = moves.move(frozenset(), book.actions["mend-lead"].needs)
    second = moves.move(first.after, book.checks["cycle-test"].needs)
    last = moves.restore_all(second.after)
    by_hand = first.minutes + 60 + second.minutes + 30 + last.minutes + 10 * (first.hazards + second.hazards)
    floor = Floor(book, moves, figures, ("cycle-test",))
    assert floor.of_plan(frozenset(), frozenset({"mend-lead"})) == pytest.approx(by_hand)


def test_suggestions_stand_best_first(book: Book) -> None:
    """Expected minutes rise down the list, help apart, and the first saves what the second costs more."""
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    ranked = [s for s in Advisor(book).advise(belief, Situation()).suggestions if s.kind != "help"]
    minutes = [s.expected_minutes for s in ranked]
    assert minutes == sorted(minutes)
    assert ranked[0].saves_minutes == pytest.approx(minutes[1] - minutes[0])


def test_the_one_way_that_is_left_saves_nothing(book: Book) -> None:
    """With nobody there for any of the work the call for help alone is left, and there is none to hold it against."""
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    only = Advisor(book).advise(belief, Situation(people=0)).suggestions
    assert [(s.kind, s.saves_minutes) for s in only] == [("help", 0.0)]


def refined(book: Book, situation: Situation | None = None, budget: Budget | None = None) -> Advice:
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    return Advisor(book).refine(belief, situation or Situation(), budget)


def test_without_time_the_quick_choice_stands(book: Book) -> None:
    """Out of states at once, the refined advice is the quick one and says that it is not refined."""
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    quick = Advisor(book).advise(belief, Situation())
    late = refined(book, budget=Budget(states=0))
    assert not late.refined
    assert late.suggestions[0].id == quick.suggestions[0].id


def test_refining_stops_when_told_to(book: Book) -> None:
    """The question whether to stop is asked again and again, and yes ends it."""
    asked: list[int] = []

    def stop() -> bool:
        asked.append(1)
        return len(asked) > 5

    with pytest.raises(Stopped):
        refined(book, budget=Budget(stop=stop))
    assert len(asked) == 6


def test_refining_twice_gives_the_same(book: Book) -> None:
    """The same belief and situation give the same advice to the last digit."""
    assert refined(book) == refined(book)


def test_what_is_played_to_the_end_says_so(book: Book) -> None:
    """Steps played are marked; they and their order are those of their minutes."""
    advice = refined(book)
    played = [s.expected_minutes for s in advice.suggestions if s.refined]
    assert len(played) > 2
    assert played == sorted(played)


def test_minutes_to_go_add_up(book: Book) -> None:
    """The parts make the mean, the median lies below the 80 per cent."""
    to_go = refined(book).to_go
    assert to_go is not None
    assert sum(to_go.split.values()) == pytest.approx(to_go.mean)
    assert to_go.p50 <= to_go.p80


def test_minutes_to_go_of_known_work_are_its_minutes() -> None:
    """With one cause, a sure repair and a sure proof there is one way: set up, repair, prove, put back, by hand."""
    book = one_way()
    to_go = Advisor(book).refine(Believer(book).believe(Evidence((Reported("s"),))), Situation()).to_go
    assert to_go is not None
    assert (to_go.mean, to_go.p50, to_go.p80) == pytest.approx((20 + 60 + 15 + 5,) * 3)
    assert to_go.split == pytest.approx(
        {"asking": 0, "checking": 0, "setting-up": 25, "repairing": 60, "proving": 15, "help": 0}
    )


def one_way() -> Book:
    outcomes = (Outcome("squawk", "squawk", THE_SQUAWK, 1.0), Outcome("gone", "gone", None, 1.0))
    return make_book(
        [fault("f.dead")],
        symptoms=[symptom("s", "f.dead", unlisted=0.0)],
        checks=[Check("proof", "proof", "test", "now", outcomes, 0.0, 15.0, needs=("jacks",), proof=True)],
        actions=[action("mend", "f.dead", effective=1.0, needs=("jacks",), people=2, equipment=("press",))],
        conditions=[condition("jacks", 20.0, 5.0, people=2)],
        equipment={"press": "Press"},
    )


def test_with_a_rate_every_person_counts_and_parts_too() -> None:
    """At 60 an hour a minute of a person is 1: two people on jacks and repair, one at the proof, a part of 30."""
    book = one_way()
    figures = Figures(care=0, wait_weight=0, help=5000, comeback=5000, hourly_rate=60.0, prices={"mend": 30.0})
    advice = Advisor(book, figures).refine(Believer(book).believe(Evidence((Reported("s"),))), Situation())
    by_hand = 2 * 20 + 2 * 60 + 30 + 15 + 2 * 5
    assert advice.suggestions[0].expected_minutes == pytest.approx(by_hand)
    assert advice.suggestions[0].money_now == pytest.approx(2 * 20 + 2 * 60 + 30)
    assert advice.to_go is not None
    assert advice.to_go.money == pytest.approx(by_hand)
    assert advice.to_go.mean == pytest.approx(100)


def test_without_a_rate_there_is_no_money(book: Book) -> None:
    """Minutes alone."""
    advice = refined(book)
    assert advice.to_go is not None
    assert (advice.to_go.money, advice.suggestions[0].money_now) == (None, None)


def test_what_to_fetch_is_what_the_next_steps_want() -> None:
    """The one repair ahead wants two people, a press and the jacks."""
    book = one_way()
    fetch = Advisor(book).refine(Believer(book).believe(Evidence((Reported("s"),))), Situation()).fetch
    assert (fetch.people, fetch.equipment, fetch.conditions) == (2, ("press",), ("jacks",))


def test_what_cannot_be_done_here_waits(book: Book) -> None:
    """Without a meter the continuity check is told as waiting for it, with what it would tell."""
    waiting = refined(book, Situation(lacking=frozenset({"multimeter"}))).waiting
    assert [(w.id, w.lacking) for w in waiting] == [("switch-continuity", ("multimeter",))]
    assert waiting[0].bits > 0.3


def test_a_lone_mechanic_is_offered_nothing_for_two(book: Book) -> None:
    """With one person at hand no step for two is offered; the check for two waits."""
    two = replace(
        book, checks={**book.checks, "switch-continuity": replace(book.checks["switch-continuity"], people=2)}
    )
    advice = refined(two, Situation(people=1))
    assert max(s.people for s in advice.suggestions) == 1
    assert ("switch-continuity", 2) in [(w.id, w.people) for w in advice.waiting]


def test_what_waits_is_still_part_of_the_plan(book: Book) -> None:
    """A meter that is not at hand can be fetched: no step costs as much as if its check could never be done."""
    lacking = Situation(lacking=frozenset({"multimeter"}))
    without = replace(book, checks={name: c for name, c in book.checks.items() if name != "switch-continuity"})
    assert refined(book, lacking).suggestions[0].expected_minutes < refined(without).suggestions[0].expected_minutes


def test_each_outcome_says_what_comes_after_it(book: Book) -> None:
    """The step that leads tells the next step for each of its outcomes."""
    first = refined(book).suggestions[0]
    assert first.outcomes
    assert all(outcome.then for outcome in first.outcomes)


def test_what_a_check_shows_is_mended_next(book: Book) -> None:
    """Behind "open" stands the switch's repair, behind "jumps" the lead's, in the words of the book."""
    told = (Reported("stays-down"), plain(book, "motor-sound", "silent"))
    belief = Believer(book).believe(Evidence(told))
    first = Advisor(book).advise(belief, Situation(done=frozenset({"motor-sound"}))).suggestions[0]
    then = {outcome.label: outcome.then for outcome in first.outcomes}
    assert (then["Open"], then["Jumps when the lead is moved"]) == ("Replace the guard switch", "Mend the lead")


def test_the_floor_comes_out_before_the_jacks_go_in() -> None:
    """Jacks 40/30, floor 35/40, the floor moved only off the jacks: 145 minutes early, 171.5 lazily, by hand."""
    given = floor_and_jacks()
    evidence, situation = where(as_book(given), begin(given))
    advisor = asked_for(given)
    first = advisor.refine(Weighted(advisor.book, given).believe(evidence), situation).suggestions[0]
    assert (first.id, first.also) == ("c0", ("n1",))
    assert first.expected_minutes - 1000.0 == pytest.approx(145.0, abs=1e-6)


def test_a_question_moves_nothing() -> None:
    """Also where something is wanted before all else, and steps on the aircraft would take the floor out early."""
    shipped = shipped_book()
    situation = Situation(first=("on-jacks", "legs-supported"))
    wet = Evidence((Reported("will-not-retract"),), ("wet", "comes-and-goes"))
    advice = Advisor(shipped).refine(Believer(shipped).believe(wet), situation)
    asked = [s for s in advice.suggestions if s.kind == "ask"]
    assert asked
    assert [s.id for s in asked if s.to_set_up or s.to_restore or s.also] == []


def floor_and_jacks() -> Job:
    """A check on jacks convicts one cause (0.3); the second, for the other two, needs the floor out as well."""
    return Job(
        conditions=(Condition("jacks", 40.0, 30.0), Condition("floor", 35.0, 40.0, not_while=(0,))),
        faults=(Fault(1000.0),) * 3,
        checks=(
            PlainCheck(0.0, frozenset({0}), needs=(0,)),
            PlainCheck(0.0, frozenset({1}), needs=(0, 1), after=(0,)),
        ),
        hypotheses=tuple(Hypothesis(frozenset({(f, False)}), w) for f, w in enumerate((0.3, 0.35, 0.35))),
        unlisted=0.0,
        proof=Proof(0.0),
        help=1e5,
        comeback=1e5,
    )


def test_entropy_of_even_chances_is_the_log_of_their_number() -> None:
    """Four even chances are two bits (Shannon, 1948)."""
    assert entropy(np.array([0.25, 0.25, 0.25, 0.25])) == pytest.approx(2.0)
