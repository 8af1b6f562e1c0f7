"""One job compiled for play, against figures worked out by hand: two faults, a repair of each, a check, a proof."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import FORECAST_CUT, MANY_ROWS, Round
from faulttree.advice.choice import HELP, PROVE, State, Step
from faulttree.advice.rows import _with_what_repairs_leave, heaviest
from faulttree.belief import Believer, Did, Evidence, Reported
from tests.support.books import action, check, condition, fault, gate
from tests.unit.advice.two_faults import FAILS, FALSE, FIGURES, UNLISTED, A, B, book, play


@pytest.fixture(scope="module")
def made() -> Round:
    return play(book())


def rows(made: Round) -> tuple[int, int, int, int]:
    """Where a, b, nothing and the unlisted cause stand."""
    holds = made.job.holds
    place = made.job.rows.frame.space.place
    a, b = (int(holds[place[name]].argmax()) for name in ("f.a", "f.b"))
    return a, b, int(holds.sum(axis=0).argmin()), len(made.job.weights) - 1


def place(made: Round, name: str) -> int:
    return next(i for i, each in enumerate(made.job.actions) if each.id == name)


def on_rows(made: Round, values: object) -> list[float]:
    return [float(np.asarray(values)[row]) for row in rows(made)]


def test_weights_are_those_of_the_belief(made: Round) -> None:
    """The row on which nothing stands weighs nothing yet."""
    assert on_rows(made, made.job.weights) == pytest.approx([A, B, 0.0, UNLISTED])


def test_the_proof_shows_what_stands(made: Round) -> None:
    """The unlisted cause as surely as it ever does."""
    assert on_rows(made, made.job.proof_fails) == pytest.approx([FAILS, FAILS, FALSE, FAILS])
    assert on_rows(made, made.job.stands) == [1.0, 1.0, 0.0, 1.0]


def test_the_proof_after_a_repair_fails_by_what_the_repair_leaves(made: Round) -> None:
    """Four times of five nothing, once the fault as it was; other rows stay as they are."""
    assert on_rows(made, made.job.fails[place(made, "mend-a")]) == pytest.approx(
        [0.8 * FALSE + 0.2 * FAILS, FAILS, FALSE, FAILS]
    )


def test_a_squawk_comes_back_where_the_proof_passed_over_what_still_stands(made: Round) -> None:
    """A tenth of the times; after a repair that took, never."""
    assert on_rows(made, made.job.comes_back[place(made, "mend-a")]) == pytest.approx([0.2 * 0.1, 0.1, 0.0, 0.1])


def test_a_repair_cures_what_it_corrects(made: Round) -> None:
    """As often as it takes; a job with one fault is helped as much as it is cured."""
    for chances in (made.job.cures, made.job.helps):
        assert on_rows(made, chances[place(made, "mend-a")]) == pytest.approx([0.8, 0.0, 0.0, 0.0])
        assert on_rows(made, chances[place(made, "mend-b")]) == pytest.approx([0.0, 0.95, 0.0, 0.0])


def test_labour_is_the_repair_and_the_proof_without_moving(made: Round) -> None:
    """Sixty and thirty, and fifteen."""
    assert made.job.labour[[place(made, "mend-a"), place(made, "mend-b")]] == pytest.approx([75.0, 45.0])


def test_each_row_costs_at_least_a_repair_of_it_or_the_way_out(made: Round) -> None:
    """Nothing where nothing stands; the unlisted cause the comeback, which is less than help."""
    assert on_rows(made, made.job.least) == pytest.approx([75.0, 45.0, 0.0, 300.0])


def test_after_a_failed_proof_the_rest_is_weighed_anew(made: Round) -> None:
    """What was mended shows by false alarm alone."""
    left = made.job.after_failed(place(made, "mend-a"), made.job.weights)
    assert on_rows(made, left) == pytest.approx([0.2 * A * FAILS, B * FAILS, 0.8 * A * FALSE, UNLISTED * FAILS])


def test_the_floor_of_a_cause_is_its_repair_proved(made: Round) -> None:
    """Up, proved, down again with it; of nothing the bare proof; of the unlisted cause help."""
    floors = made.job.floors(frozenset())[made.job.group]
    assert on_rows(made, floors) == pytest.approx([100.0, 70.0, 40.0, 1000.0])


def test_a_check_shows_what_its_matrix_says(made: Round) -> None:
    """Under the unlisted cause as on average over the causes given the symptom."""
    seen = made.job.shown[:, 0]
    share = A / (A + B)
    assert on_rows(made, seen) == pytest.approx([0.95, 0.02, 0.02, share * 0.95 + (1 - share) * 0.02])


def test_the_bits_of_a_check_are_its_information_on_the_causes(made: Round) -> None:
    """Summed cell by cell (Shannon, 1948)."""
    job, told = made.job, 0.0
    seen = job.weights @ job.shown
    for weight, shown in zip(job.weights, job.shown, strict=True):
        told += sum(weight * p * math.log2(p / q) for p, q in zip(shown, seen, strict=True) if weight > 0)
    assert made.plan.check_bits == pytest.approx([told])


def test_the_ratio_of_a_check_is_bits_by_minutes(made: Round) -> None:
    """It moves nothing, so that its ten minutes are all that it costs."""
    assert made.plan.check_net == pytest.approx([10.0])
    assert made.plan.check_ratio == pytest.approx(made.plan.check_bits / 10.0)


def test_the_floor_of_a_state_is_the_mean_over_causes(made: Round) -> None:
    """And what is not known yet their entropy."""
    assert made.plan.floor == pytest.approx(A * 100.0 + B * 70.0 + UNLISTED * 1000.0)
    assert made.plan.unknown == pytest.approx(-sum(w * math.log2(w) for w in (A, B, UNLISTED)))


def test_a_check_leads_to_a_state_for_each_outcome(made: Round) -> None:
    """With the chances of the outcomes, the weights by Bayes, and the check done."""
    minutes, branches = made.play.branches(made.state, Step("check", 0))
    seen = float(made.job.weights @ made.job.shown[:, 0])
    assert minutes == pytest.approx(10.0)
    assert [branch.probability for branch in branches] == pytest.approx([seen, 1.0 - seen])
    first = branches[0].state
    assert first is not None
    assert on_rows(made, first.weights)[0] == pytest.approx(A * 0.95 / seen)
    assert (first.done, first.ever) == ({0}, {0})


def test_a_repair_ends_the_job_or_goes_on(made: Round) -> None:
    """Passed: all put back, and now and then the squawk comes back; failed: everything is open to be checked again."""
    checked = replace(made.state, done=frozenset({0}), ever=frozenset({0}))
    minutes, (passed, failed) = made.play.branches(checked, Step("act", place(made, "mend-a")))
    fails = A * (0.8 * FALSE + 0.2 * FAILS) + (B + UNLISTED) * FAILS
    back = A * 0.02 + (B + UNLISTED) * 0.1
    assert minutes == pytest.approx(60.0 + 20.0 + 15.0)
    assert (passed.probability, failed.probability) == pytest.approx((1.0 - fails, fails))
    assert passed.state is None
    assert passed.minutes == pytest.approx(5.0 + 300.0 * back / (1.0 - fails))
    assert failed.state is not None
    assert (failed.state.standing, failed.state.done, failed.state.ever) == ({"jacks"}, set(), {0})
    assert failed.state.weights.sum() == pytest.approx(1.0)


def test_help_ends_the_job(made: Round) -> None:
    """At its price."""
    assert made.play.branches(made.state, HELP) == (1000.0, [])


def test_what_is_owed_is_proved_without_a_repair() -> None:
    """From what stands, with the squawk coming back where the proof passes over a cause."""
    made = play(book(), Situation(owed=("proof",), acted=True, own_words=True))
    minutes, (passed, failed) = made.play.branches(made.state, PROVE)
    assert minutes == pytest.approx(35.0)
    assert (passed.probability, failed.probability) == pytest.approx((0.1, FAILS))
    assert passed.minutes == pytest.approx(5.0 + 300.0)


def test_trying_one_repair_after_another_is_priced_by_hand(made: Round) -> None:
    """The likelier by minutes first, then the other from jacks, then help."""
    job, state = made.job, made.state
    order = [place(made, name) for name in ("mend-a", "mend-b")]
    cost, left, spent, weights = [95.0, 45.0], 1.0, 0.0, state.weights
    for a, minutes in zip(order, cost, strict=True):
        spent += 300.0 * float(job.comes_back[a] @ weights)
        weights = job.after_failed(a, weights)
        now, left = left, float(weights.sum())
        spent += now * minutes + (now - left) * 5.0
    value, first = made.play.repairs_only(state, made.plan, np.inf)
    assert first == Step("act", order[0])
    assert value == pytest.approx(spent + left * 1000.0)


def test_trying_repairs_is_given_up_where_it_is_too_dear(made: Round) -> None:
    """Above what may be spent nothing is told."""
    assert made.play.repairs_only(made.state, made.plan, 50.0) == (np.inf, HELP)


def test_states_that_differ_by_rounding_alone_are_one(made: Round) -> None:
    """A billionth counts, less does not; what stands counts."""
    near = replace(made.state, weights=made.state.weights + 1e-12)
    assert near.key() == made.state.key()
    assert replace(made.state, weights=made.state.weights + 1e-6).key() != made.state.key()
    assert replace(made.state, standing=frozenset({"jacks"})).key() != made.state.key()


def test_a_check_done_is_not_chosen_again(made: Round) -> None:
    """Its ratio is nothing then."""
    done = State(made.state.weights, frozenset(), (), frozenset({0}), frozenset({0}))
    assert made.play.rule.choose(done).check_ratio == pytest.approx([0.0])


def test_a_repair_that_corrects_nothing_likely_is_not_tried(made: Round) -> None:
    """However cheap, and though its proof may pass over what stands."""
    unlisted = np.zeros(len(made.job.weights))
    unlisted[-1] = 1.0
    state = replace(made.state, weights=unlisted)
    assert made.play.repairs_only(state, made.play.rule.choose(state), np.inf) == (np.inf, HELP)


def test_what_is_wanted_before_all_else_comes_before_what_is_owed() -> None:
    """Once: the first of what is due sets it up."""
    plain = book()
    first = replace(plain, conditions={**plain.conditions, "stand": condition("stand", 8.0, 2.0)})
    made = play(first, Situation(owed=("proof",), acted=True, own_words=True, first=("stand",)))
    minutes, (passed, _) = made.play.branches(made.state, PROVE)
    assert minutes == pytest.approx(8.0 + 35.0)
    assert passed.minutes == pytest.approx(2.0 + 5.0 + 300.0)


def test_a_check_that_cannot_be_done_is_no_part_of_the_job() -> None:
    """It needs a condition that nobody is told to set up."""
    plain = book()
    never = check("never", heard="f.b", needs=("engine",))
    running = condition("engine", proposed=False)
    more = replace(
        plain, checks={**plain.checks, "never": never}, conditions={**plain.conditions, "engine": running}
    )  # fmt: skip
    assert [each.id for each in play(more).job.checks] == ["look"]


@pytest.mark.parametrize(("detects", "capped"), [(0.95, True), (0.6, False)])
def test_checks_that_share_a_set_up_pay_for_it_together(detects: float, capped: bool) -> None:
    """Behind one panel: both for its minutes once, the second at 0.85 of its bits, at most 0.9 of what is unknown.

    A third check that lies elsewhere and tells nothing has no part in it.
    """
    plain = book()
    both = [
        check(name, seen=event, minutes=5.0, needs=("panel",), detects=detects)
        for name, event in (("one", "f.a"), ("two", "f.b"))
    ]
    far = check("far", seen="f.a", minutes=5.0, detects=0.02)
    checks = {**{each.id: each for each in (*both, far)}, "proof": plain.checks["proof"]}
    # Repairs are dear, so that a check leads.
    dear = {name: replace(act, minutes=300.0) for name, act in plain.actions.items()}
    behind = {**plain.conditions, "panel": condition("panel", 30.0, 10.0)}
    plan = play(replace(plain, checks=checks, actions=dear, conditions=behind)).plan
    bits = sorted(plan.check_bits.tolist(), reverse=True)
    # The panel goes back in at the end of all jobs but that of the unlisted cause, which help ends.
    moving = 30.0 + 10.0 * (1.0 - UNLISTED)
    alone = bits[0] / (moving + 5.0)
    assert (bits[0] + 0.85 * bits[1] > 0.9 * plan.unknown) == capped
    together = min(bits[0] + 0.85 * bits[1], 0.9 * plan.unknown) / (moving + 10.0)
    assert together > alone
    assert sorted(plan.check_ratio.tolist(), reverse=True)[:2] == pytest.approx([together, bits[1] / (moving + 5.0)])


def test_in_a_large_job_branches_end_earlier() -> None:
    """Twice as many rows as are many, and those of twice the chance stand for themselves."""
    made = play(book())
    assert made._cut == FORECAST_CUT
    made.state = replace(made.state, weights=np.full(2 * MANY_ROWS, 0.5 / MANY_ROWS))
    assert made._cut == pytest.approx(2 * FORECAST_CUT)


def test_a_step_is_estimated_by_the_price_of_a_bit(made: Round) -> None:
    """The floor, the step, and what it leaves unknown at the best ratio of bits to minutes; help at its own."""
    plan, estimates = made.plan, dict(made._estimates())
    left = plan.unknown - float(plan.check_bits[0])
    assert estimates[Step("check", 0)] == pytest.approx(plan.floor + 10.0 + left / plan.ratio)
    assert estimates[HELP] == 1000.0


def test_no_help_is_called_where_trying_repairs_is_cheaper() -> None:
    """Without a check the rule alone would call it at 180 minutes; both repairs, and help after them, take 179."""
    plain = book()
    blind = replace(plain, checks={"proof": plain.checks["proof"]})
    belief = Believer(blind, size_limit=1).believe(Evidence((Reported("s"),)))
    made = Round(Advisor(blind, replace(FIGURES, help=180.0)), belief, Situation())
    assert made.play.rule.choose(made.state).step == HELP
    assert made.play.choice(made.state).step == Step("act", place(made, "mend-a"))


@pytest.mark.parametrize(
    ("checks", "step"),
    [([0.5], Step("check", 0)), ([0.1], Step("act", 0)), ([], Step("act", 0))],
    ids=["check", "repair", "no check"],
)
def test_in_place_of_help_comes_what_tells_most_for_its_minutes(made: Round, checks: list[float], step: Step) -> None:
    """The best check, or the first repair to try."""
    plan = replace(made.plan, check_ratio=np.array(checks), act_ratio=np.array([0.2, 0.3]))
    assert made.play._instead_of_help(plan, Step("act", 0)) == step


@pytest.mark.parametrize(("chance", "minutes"), [(0.0208, 40.0 + 100.0 + 70.0), (0.2, 40.0 + 100.0 + 70.0 - 40.0)])
def test_a_plan_of_two_repairs_is_priced_exactly_where_it_weighs(chance: float, minutes: float) -> None:
    """Both behind one panel at 30 and 10; what hardly weighs is taken as the sum of both, the panel moved twice."""
    plain = book()
    faults = {name: replace(each, probability=chance) for name, each in plain.faults.items()}
    behind = {name: replace(act, needs=("panel",)) for name, act in plain.actions.items()}
    conditions = {**plain.conditions, "panel": condition("panel", 30.0, 10.0)}
    made = replace(plain, faults=faults, actions=behind, conditions=conditions)
    job = Round(Advisor(made, FIGURES), Believer(made).believe(Evidence((Reported("s"),))), Situation()).job
    pair = next(g for g, plan in enumerate(job.plans) if plan is not None and len(plan) == 2)
    assert job.floors(frozenset())[pair] == pytest.approx(minutes)


def test_each_set_that_a_repair_leaves_is_a_row_once() -> None:
    """Of two pairs with one fault in common; nothing at all is one too."""
    base, modes = _with_what_repairs_leave(np.array([0, 1]), np.array([[0, 1], [0, 2]]))
    assert modes.tolist() == [[0, 1], [0, 2], [0, -1], [1, -1], [2, -1], [-1, -1]]
    assert base.tolist() == [0, 1, 0, 0, 1, -1]


def test_a_set_of_one_leaves_nothing_but_nothing() -> None:
    """What fills a short row is no mode of it."""
    base, modes = _with_what_repairs_leave(np.array([0, 1]), np.array([[0, 1], [2, -1]]))
    assert modes.tolist() == [[0, 1], [2, -1], [0, -1], [1, -1], [-1, -1]]
    assert base.tolist() == [0, 1, 0, 0, -1]


def test_where_every_way_ends_the_job_a_bit_costs_what_trying_repairs_does() -> None:
    """A proof that never shows anything leads nowhere from which a price could be learned."""
    plain = book()
    blind = replace(plain.checks["proof"], false_alarm=0.0)
    squawk, gone = blind.outcomes
    blind = replace(blind, outcomes=(replace(squawk, detects=0.0), gone))
    made = play(replace(plain, checks={"proof": blind}))
    choice = made.play.choice(made.state)
    trying, _ = made.play.repairs_only(made.state, choice, np.inf)
    made.play.learn_price(made.state, Step("act", 0))
    assert made.play.price == pytest.approx((min(trying, 1000.0) - choice.floor) / choice.unknown)


def test_advice_plays_on_the_heaviest_rows() -> None:
    """As many as make 99 per cent, or as many as may be, in the order of the rows."""
    weights = np.array([0.005, 0.3, 0.6, 0.095])
    assert heaviest(weights).tolist() == [1, 2, 3]
    assert heaviest(weights, 2).tolist() == [1, 2]
    assert heaviest(np.zeros(0)).tolist() == []


def test_a_repair_that_seldom_takes_is_not_the_cheaper_one() -> None:
    """Ten minutes that take one time in five cost fifty for each that took, and thirty that take nearly always less."""
    made = book()
    quick = action("quick-b", "f.b", effective=0.2, minutes=10.0)
    job = play(replace(made, actions={**made.actions, "quick-b": quick})).job
    assert job._cheapest(job.actions)["f.b"] == "mend-b"


def test_after_a_repair_the_pilot_is_asked_of_the_gear_as_it_was() -> None:
    """A memory is of what stood at the squawk, a look of what stands now: each as the belief says of it."""
    plain_book = book()
    told = replace(check("told", seen="f.a"), about="squawk")
    made = replace(plain_book, checks={**plain_book.checks, "told": told})
    belief = Believer(made, size_limit=1).believe(Evidence((Reported("s"), Did("mend-a"))))
    job = Round(Advisor(made, FIGURES), belief, Situation(acted=True)).job
    for name in ("look", "told"):
        c = [each.id for each in job.checks].index(name)
        shown = job.weights @ job.shown[:, job.first[c] : job.first[c + 1]]
        assert shown == pytest.approx(belief.outcomes(name), abs=1e-9), name
    assert belief.outcomes("told")[0] > belief.outcomes("look")[0] + 0.2


def test_rows_that_hardly_weigh_take_no_bits_with_them() -> None:
    """With two of five rows as good as gone the look tells the repairs apart: its information on them by hand.

    Two rows want the same repair, and need not be told apart.
    """
    plain = book()
    both = action("mend-a", "f.a", "f.c", effective=0.8, minutes=60.0)
    faults = {**plain.faults, "f.c": fault("f.c", probability=0.1)}
    events = {"any": gate("any", "any_of", "f.a", "f.b", "f.c")}
    made = play(replace(plain, faults=faults, events=events, actions={**plain.actions, "mend-a": both}))
    place, weights = made.job.rows.frame.space.place, np.zeros(len(made.job.weights))
    for name, weight in (("f.a", 0.4), ("f.c", 0.3), ("f.b", 0.3)):
        weights[int(made.job.holds[place[name]].argmax())] = weight
    joint = np.array([[0.4 * 0.95 + 0.3 * 0.02, 0.4 * 0.05 + 0.3 * 0.98], [0.3 * 0.02, 0.3 * 0.98]])
    told = sum(float(-(chances * np.log2(chances)).sum()) for chances in (joint.sum(axis=0), joint.sum(axis=1)))
    assert len(weights) == 5
    assert made.play.rule._bits(weights)[0] == pytest.approx(told + float((joint * np.log2(joint)).sum()))
