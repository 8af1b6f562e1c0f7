"""A job in play: when help is called, what is estimated, what waits through a question, what minutes go into."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from faulttree.advice import Advisor, Budget, Situation
from faulttree.advice.advisor import LIKELY, LOOKED_AHEAD, RARE, WORTHWHILE, Round
from faulttree.advice.choice import HELP, State, Step
from faulttree.advice.rollout import CUT, PRACTICE, UNKNOWN_PRICE, OutOfTime, candidates
from faulttree.advice.rows import Rows
from faulttree.advice.steps import likeliest
from faulttree.belief import Believer, Evidence, Reported, plain
from faulttree.graph.gates import Gates
from tests.support.books import action, check, fault, make_book, symptom
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


def test_a_check_brings_what_has_to_come_before_it_and_its_minutes() -> None:
    """Four minutes behind a look of ten."""
    made = book()
    late = replace(made.checks["look"], id="late", minutes=4.0, after=("look",))
    now = play(replace(made, checks={**made.checks, "late": late}))
    net = dict(zip([each.id for each in now.job.checks], now.plan.check_net, strict=True))
    assert (net["look"], net["late"]) == pytest.approx((10.0, 14.0))


def test_without_a_repair_there_is_a_choice_all_the_same() -> None:
    """The call for help, which is all that can end it."""
    bare = replace(book(), actions={})
    assert play(bare).plan.step == HELP
    belief = Believer(bare, size_limit=1).believe(Evidence((Reported("s"),)))
    assert Advisor(bare, FIGURES).advise(belief, Situation()).suggestions[-1].kind == "help"


def test_with_nothing_left_to_believe_in_all_weight_is_with_the_unlisted_cause() -> None:
    """The one cause there may be is excluded by a check that never errs, and the book allows no other."""
    cause, sure = fault("f.a", probability=0.2), check("sure", seen="f.a", detects=1.0, false_alarm=0.0)
    made = make_book([cause], symptoms=[symptom("s", "f.a", unlisted=0.0)], checks=[sure], actions=[action("m", "f.a")])
    belief = Believer(made).believe(Evidence((Reported("s"), plain(made, "sure", "fine"))))
    assert (belief.possible, belief.unlisted) == (False, 0.0)
    weights = Rows(belief, Gates(made)).weights
    assert (weights[-1], weights[:-1].sum()) == (1.0, 0.0)


@pytest.mark.parametrize("states", [0, 1, 3])
def test_a_budget_is_spent_state_by_state(states: int) -> None:
    budget = Budget(states)
    for _ in range(states):
        budget.spend()
    with pytest.raises(OutOfTime):
        budget.spend()


def test_money_is_the_labour_of_all_who_are_wanted() -> None:
    """At sixty an hour a minute of one person is one: thirty for the repair, forty for two at the jacks, parts."""
    made = book()
    crowded = replace(made.conditions["jacks"], people=2)
    mend = replace(made.actions["mend-b"], needs=("jacks",))
    made = replace(made, conditions={**made.conditions, "jacks": crowded}, actions={"mend-b": mend})
    figures = replace(FIGURES, hourly_rate=60.0, prices={"mend-b": 7.0})
    belief = Believer(made, size_limit=1).believe(Evidence((Reported("s"),)))
    told = {s.id: s.money_now for s in Advisor(made, figures).advise(belief, Situation()).suggestions}
    assert told["mend-b"] == pytest.approx(30.0 + 2 * 20.0 + 7.0)
    off = replace(made.actions["mend-b"], needs=("pit",))
    pit = replace(crowded, id="pit", excludes=("jacks",), people=1)
    made = replace(made, conditions={**made.conditions, "pit": pit}, actions={"mend-b": off})
    standing = Situation(standing=frozenset({"jacks"}))
    told = {s.id: s.money_now for s in Advisor(made, figures).advise(belief, standing).suggestions}
    assert told["mend-b"] == pytest.approx(30.0 + 2 * 5.0 + 20.0 + 7.0)


def test_a_repair_that_is_the_best_leads_whatever_is_nearly_as_good() -> None:
    """Though a check that costs as much to the last minute would tell more for its own."""
    now = play(book())
    now.play.learned = 1.0
    look, mend = Step("check", 0), Step("act", 0)
    assert now._ratio(look) > now._ratio(mend)
    assert now._leader({mend: 100.0, look: 100.0001, HELP: 1000.0}) == mend
    assert now._leader({mend: 100.0001, look: 100.0, HELP: 1000.0}) == look


def test_played_to_the_end_a_likely_repair_leads_where_checks_save_less_than_it_is_worth() -> None:
    """Two per cent of the job."""
    seen = book()
    belief = Believer(seen, size_limit=1).believe(Evidence((Reported("s"), plain(seen, "look", "seen"))))
    now = Round(Advisor(seen, FIGURES), belief, Situation())
    mend = Step("act", [a.id for a in now.job.actions].index("mend-a"))
    assert now.choice.success[mend.place] >= LIKELY
    look, edge = Step("check", 0), 100.0 * (1.0 + WORTHWHILE)
    assert now._leader({look: 100.0, mend: edge - 0.1, HELP: 1000.0}) == mend
    assert now._leader({look: 100.0, mend: edge + 0.1, HELP: 1000.0}) == look


def test_a_repair_that_is_not_likely_right_does_not_come_before_a_check(monkeypatch: pytest.MonkeyPatch) -> None:
    """However cheap it looks a few steps ahead; one that is likely does."""
    for seen, leads in (((), "check"), (("seen",), "act")):
        known = book()
        entries = (Reported("s"), *(plain(known, "look", outcome) for outcome in seen))
        now = Round(Advisor(known, FIGURES), Believer(known, size_limit=1).believe(Evidence(entries)), Situation())
        monkeypatch.setattr(now, "_deeper", lambda state, step, depth: {"check": 100.0, "act": 10.0}[step.kind])
        assert float(now.choice.act_ratio.max()) > 0
        assert now._likely_instead(Step("check", 0)).kind == leads


def test_a_repair_that_is_sure_and_never_fails_is_done() -> None:
    """There is nothing left to be told by it, so that no bits by minutes speak for it."""
    made = book()
    sure = replace(made.actions["mend-a"], effective=1.0)
    proof = replace(made.checks["proof"], false_alarm=0.0)
    symptoms = {"s": symptom("s", "f.a", unlisted=0.0)}
    now = play(
        replace(
            made, symptoms=symptoms, checks={**made.checks, "proof": proof},
            actions={**made.actions, "mend-a": sure},
        )
    )  # fmt: skip
    assert now.plan.act_ratio.tolist() == pytest.approx([0.0] * len(now.job.actions))
    assert now.play.rule.choose(now.state).step == Step("act", [a.id for a in now.job.actions].index("mend-a"))


@pytest.mark.parametrize(("depth", "seldom"), [(1, 0.1), (2, 0.1), (3, 0.1), (4, 0.02)])
def test_so_many_steps_by_the_rule_are_looked_ahead(depth: int, seldom: float) -> None:
    """The states after the last are estimated, help is never passed by, and what is rare is estimated at once.

    Rare is what is so from the first step on: one time in eleven, and then one in ten.
    """
    made = book()
    look = replace(check("look", seen="f.b"), minutes=10.0)
    faults = {**made.faults, "f.b": fault("f.b", probability=seldom)}
    now = play(replace(made, faults=faults, checks={**made.checks, "look": look}))

    def deeper(state: State, step: Step, left: int, reached: float) -> float:
        minutes, branches = now.play.branches(state, step)
        for branch in branches:
            rest = branch.minutes
            if branch.state is not None:
                choice, chance = now.play.choice(branch.state), reached * branch.probability
                estimated = left == 1 or chance < RARE
                rest = now.play.estimate(choice) if estimated else deeper(branch.state, choice.step, left - 1, chance)
            minutes += branch.probability * min(rest, FIGURES.help)
        return minutes

    told = now._deeper(now.state, Step("check", 0), depth)
    assert told == pytest.approx(deeper(now.state, Step("check", 0), depth, 1.0))
    assert told != pytest.approx(now._deeper(now.state, Step("check", 0), depth + 1), abs=1e-9)


def test_the_price_of_a_bit_is_what_bits_cost_where_the_job_was_played() -> None:
    """Minutes above the floor by bits unknown, both by how likely each state is."""
    now, other = play(book()), play(book())
    look, choice = Step("check", 0), now.play.choice(now.state)
    trying, _ = other.play.repairs_only(other.state, other.play.choice(other.state), math.inf)
    other.play.price = (trying - choice.floor) / choice.unknown
    other.play.of_step(other.state, look, PRACTICE)
    played = [(k.probability, k.value, other.play._choices[key]) for key, k in other.play.known.items()]
    likely = [(chance, value, seen) for chance, value, seen in played if chance >= CUT]
    assert len(likely) > 1
    now.play.learn_price(now.state, look)
    paid = sum(chance * max(value - seen.floor, 0.0) for chance, value, seen in likely)
    assert now.play.price == pytest.approx(paid / sum(chance * seen.unknown for chance, _, seen in likely))
    assert now.play.learned == pytest.approx(min(other.play.estimated / PRACTICE, 1.0))
    assert 0.0 < now.play.learned < 1.0


def test_the_likeliest_fault_is_none_where_the_unlisted_cause_is_likelier() -> None:
    made = play(book()).job
    place = made.rows.frame.space.place
    a = int(made.holds[place["f.a"]].argmax())
    weights = np.zeros((len(made.weights), 3))
    weights[a, 0] = weights[-1, 1] = 1.0
    weights[[a, -1], 2] = 0.6, 0.4
    assert likeliest(made, weights) == ["f.a", None, "f.a"]


def test_questions_led_to_need_nothing_that_has_to_be_set_up_first() -> None:
    """One after another, ten minutes and four; a look after a question wants the jacks that have to be there first."""
    made = book()
    look = replace(made.checks["look"], kind="ask")
    for kind, minutes in (("ask", 14.0), ("look", 34.0)):
        late = replace(look, id="late", kind=kind, minutes=4.0, after=("look",))
        job = play(replace(made, checks={**made.checks, "look": look, "late": late}))
        place = {check.id: c for c, check in enumerate(job.job.checks)}
        cost = job.play.rule.tables.at(frozenset(), ("jacks",)).led_to(place["late"], [look])
        assert cost is not None
        assert cost.minutes == pytest.approx(minutes)


def test_without_a_price_what_is_unknown_costs_half_of_what_it_does_at_the_best_ratio() -> None:
    """Half, since the best check is done first; the price of bits where the job was played, if that is more."""
    now = play(book())
    choice = now.play.choice(now.state)
    now.play.price = 0.0
    assert now.play.estimate(choice) == pytest.approx(choice.floor + UNKNOWN_PRICE * choice.unknown / choice.ratio)
    now.play.price = 1000.0
    assert now.play.estimate(choice) == pytest.approx(choice.floor + 1000.0 * choice.unknown)


@pytest.mark.parametrize(
    ("more", "able"),
    [
        ({}, True), ({"proposed": False}, False), ({"proof": True}, False), ({"after": ("look",)}, False),
        ({"equipment": ("scope",)}, False), ({"people": 2}, False),
    ],
)  # fmt: skip
def test_what_can_be_done_as_things_stand(more: dict[str, Any], able: bool) -> None:
    """No proof, nothing that something else has to come before, nor what wants more than is at hand."""
    made = book()
    other = replace(made.checks["look"], id="other", **more)
    made = replace(made, checks={**made.checks, "other": other})
    belief = Believer(made, size_limit=1).believe(Evidence((Reported("s"),)))
    lone = Situation(people=1, lacking=frozenset({"scope"}))
    assert Advisor(made, FIGURES).can_be_done(belief, lone) == (("look", "other") if able else ("look",))


def test_of_checks_that_cost_alike_the_better_by_the_rule_leads() -> None:
    """Within a per cent or so, since rates are known no better; else the cheaper one does."""
    made = book()
    short = replace(made.checks["look"], id="short", minutes=1.0)
    now = play(replace(made, checks={**made.checks, "short": short}))
    now.play.learned = 1.0
    look, other = (Step("check", [c.id for c in now.job.checks].index(name)) for name in ("look", "short"))
    assert now._ratio(other) > now._ratio(look)
    assert now._leader({look: 100.0, other: 100.5, HELP: 1000.0}) == other
    assert now._leader({look: 100.0, other: 110.0, HELP: 1000.0}) == look


def test_with_no_fault_to_tell_of_none_is_the_likeliest() -> None:
    """Whatever weighs: a column each."""
    none = SimpleNamespace(rows=SimpleNamespace(frame=SimpleNamespace(space=SimpleNamespace(faults=()))))
    assert likeliest(none, np.ones((1, 3))) == [None, None, None]  # type: ignore[arg-type]  # all it looks at


def test_what_was_only_estimated_is_played_where_it_is_likely() -> None:
    """A state that was hardly come to is known by its estimate; come to for sure it is played after all."""
    now, fresh = play(book()), play(book())
    estimated = now.play.value(now.state, 1e-9)
    played = fresh.play.value(fresh.state, 1.0)
    assert played != pytest.approx(estimated)
    assert now.play.value(now.state, 1.0) == pytest.approx(played)
    assert now.play.value(now.state, 1e-9) == pytest.approx(played)


def test_of_many_steps_the_quick_choice_and_the_best_by_their_ratio_are_played() -> None:
    """The best first, each once, so many of each kind at most, and none that pays nothing."""
    choice: Any = SimpleNamespace(
        step=Step("check", 2), check_ratio=np.array([0.1, 0.4, 0.3, 0.0, 0.2]), act_ratio=np.array([0.0, 0.5, 0.7, 0.6])
    )
    checks, acts = [[Step(kind, place) for place in range(5)] for kind in ("check", "act")]
    assert list(candidates(choice, 3, 2)) == [checks[2], checks[1], checks[4], acts[2], acts[3]]
    assert list(candidates(choice)) == [checks[2], checks[1], checks[4], checks[0], acts[2], acts[3]]
    assert list(candidates(choice, 9, 9))[1:5] == [checks[1], checks[4], checks[0], acts[2]]
