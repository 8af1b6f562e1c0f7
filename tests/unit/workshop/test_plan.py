"""Plans of numbered steps: what is remembered costs nothing, and values agree with what comes along the ways."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.workshop import clock, flows, planning
from faulttree.workshop.graph import END, HELP, START
from faulttree.workshop.growing import grown
from faulttree.workshop.plan import Plan
from faulttree.workshop.planning import Gardener
from faulttree.workshop.room import Room
from faulttree.workshop.ways import Behind, Step
from tests.support.small_family import small_book as book

CHECK, ACT = Step("check", 0), Step("act", 0)
ROOM = 140.0


def plan(of: Book | None = None) -> Plan:
    """An empty one for the small book."""
    known = of or book()
    belief = Believer(known).believe(Evidence((Reported("stays-down"),)))
    return Plan(Round(Advisor(known), belief, Situation()))


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


def looking_back(check: Step) -> Plan:
    """A check, a repair, then one look back at what the check showed; help whatever that was."""
    made = one_after_another([check, ACT])
    made.facts.ticked = True
    back = made.add(Step("back", check.place), [HELP] * (len(made.job.checks[check.place].outcomes) + 1))
    made.lead((made.nodes[made.root].to[0], 1), back)
    return made


def test_what_was_shown_before_a_repair_is_looked_up() -> None:
    """Each outcome as often as it was shown among those not mended; it costs nothing, and nobody has not done it."""
    made = looking_back(CHECK)
    first, many = made.facts.first[0], len(made.job.checks[0].outcomes)
    _, edges = made.flows()
    (act,), (back,) = ([n for n in made.order() if made.nodes[n].step.kind == kind] for kind in ("act", "back"))
    shown = [float(sum(w.sum() for w in edges[back, o].values())) for o in range(many)]
    left = made.job.weights[:, None] * made.job.shown[:, first : first + many]
    assert shown == pytest.approx([float(made.job.after_failed(0, w).sum()) for w in left.T], abs=1e-4)
    assert not edges[back, many]
    assert made.spent(made.nodes[back].step, edges[act, 1]) == 0.0


def test_what_many_ways_share_in_part_is_looked_up_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put together as one story, they come to the same."""
    made = looking_back(CHECK)
    apart = made.whole(), {edge: sum(w.sum() for w in flow.values()) for edge, flow in made.flows()[1].items()}
    monkeypatch.setattr(flows, "MOST_STORIES", 0)
    together = {edge: sum(w.sum() for w in flow.values()) for edge, flow in made.flows()[1].items()}
    assert made.whole() == pytest.approx(apart[0])
    assert together == pytest.approx(apart[1], abs=1e-9)


def test_a_tick_tells_that_a_check_was_done_and_its_lack_that_it_may_not_have_been() -> None:
    """A repair that has to be shown wanted may follow the one, not the other."""
    known = book()
    act = replace(known.actions["replace-guard-switch"], after_any=("switch-continuity",))
    made = plan(replace(known, actions={**known.actions, act.id: act}))
    wanting = [a.id for a in made.job.actions].index(act.id)
    back = Step("back", [c.id for c in made.job.checks].index("switch-continuity"))
    ticked, not_done = (made.past(back, o, {0: Behind()})[0] for o in (0, made.facts.ways_on(back) - 1))
    assert made.facts.may_stand(Step("act", wanting), ticked)
    assert not made.facts.may_stand(Step("act", wanting), not_done)
    repair = made.add(Step("act", wanting), [END, HELP])
    led = made.add(back, [*[repair] * (made.facts.ways_on(back) - 1), HELP])
    assert made.allowed({0: Behind()}, led)
    made.lead((led, made.facts.ways_on(back) - 1), repair)
    assert not made.allowed({0: Behind()}, led)


def test_values_agree_with_what_comes_along_the_ways() -> None:
    """Backwards over the steps and forwards over the ways, the same minutes; nothing is remembered here."""
    made = one_after_another([CHECK, ACT])
    value = float(made.job.weights @ made.value(made.root, frozenset(), 0))
    assert value == pytest.approx(made.whole(), rel=1e-4)


def test_a_grown_plan_has_its_room_and_beats_help_at_once() -> None:
    """No more lines than were given."""
    made = grown(plan().round, ROOM)
    assert Room(made).taken() <= ROOM
    assert made.whole() < made.costs.help


def settled_book() -> Book:
    """Whatever the guard switch shows, nobody needs to ask for the motor any more."""
    known = book()
    check = known.checks["switch-continuity"]
    outcomes = tuple(replace(o, needless=("motor-sound",)) for o in check.outcomes)
    return replace(known, checks={**known.checks, check.id: replace(check, outcomes=outcomes)})


def asked_after(made: Plan, first: str, then: str) -> bool:
    """Whether a plan may ask one thing once another was answered."""
    places = {check.id: Step("check", c) for c, check in enumerate(made.job.checks)}
    asks = made.add(places[then], [HELP] * len(made.job.checks[places[then].place].outcomes))
    return made.allowed(made.past(places[first], 0, {0: Behind()}), asks)


@pytest.mark.parametrize(
    ("of", "first", "then", "may"),
    [
        (book, "switch-continuity", "motor-sound", True),
        (settled_book, "switch-continuity", "motor-sound", False),
        (settled_book, "motor-sound", "switch-continuity", True),
    ],
)
def test_what_an_answer_settled_is_not_asked(of: Callable[[], Book], first: str, then: str, may: bool) -> None:
    """Neither by the step that follows nor, then, by any later one."""
    assert asked_after(plan(of()), first, then) is may


def test_what_was_answered_before_it_was_settled_may_be_looked_up() -> None:
    """Nobody is asked again."""
    made = plan(settled_book())
    places = {check.id: Step("check", c) for c, check in enumerate(made.job.checks)}
    asked = made.past(places["motor-sound"], 0, {0: Behind()})
    back = made.add(places["motor-sound"], [HELP, HELP])
    assert made.allowed(made.past(places["switch-continuity"], 0, asked), back)


def test_what_settles_a_question_that_follows_wants_it_answered_before() -> None:
    """A way that never asked it may not come to an answer that makes it needless where it is met after that."""
    made = plan(settled_book())
    places = {check.id: Step("check", c) for c, check in enumerate(made.job.checks)}
    asks = made.add(places["motor-sound"], [HELP, HELP])
    settles = made.add(
        places["switch-continuity"], [asks] * len(made.job.checks[places["switch-continuity"].place].outcomes)
    )
    asked = made.past(places["motor-sound"], 0, {0: Behind()})
    assert (made.allowed(asked, settles), made.allowed({0: Behind()}, settles)) == (True, False)
    assert made.allowed({0: Behind()}, made.add(places["motor-sound"], [settles, settles]))


def test_a_grown_plan_never_asks_what_was_settled() -> None:
    """On no way, whatever its chance."""
    made = grown(plan(settled_book()).round, ROOM)
    behind = made.behind()
    late = [
        n for n, past in behind.items()
        if made.nodes[n].step.kind == "check"
        and any(one.settled & made.facts.bit(made.nodes[n].step) for one in past.values())
    ]  # fmt: skip
    assert late == []


def test_many_are_weighed_as_each_alone() -> None:
    """Where nothing is remembered, the rough figure is the exact one."""
    made = one_after_another([CHECK, ACT])
    edges = made.looked_over().edges
    steps = [n for n in made.order() if n != HELP]
    assert made.roughly(edges[START], steps).tolist() == pytest.approx([made.worth(edges[START], n) for n in steps])


def test_a_plan_without_any_room_is_the_call_for_help() -> None:
    """And taking out comes to an end."""
    made = grown(plan().round, ROOM)
    Gardener(made).cut_back(0.0)
    assert list(made.order()) == [HELP]


def test_a_check_is_put_in_for_the_repairs_that_would_follow_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing but help to lead to it saves nothing by itself."""
    monkeypatch.setattr(planning, "MOST_ROUNDS", 1)
    made = plan()
    Gardener(made).grow(ROOM)
    first = made.nodes[made.root]
    assert first.step.kind == "check"
    assert {made.nodes[n].step.kind for n in first.to} == {"act"}


def test_what_two_steps_want_told_takes_room_once() -> None:
    """The second of two that are the same takes the lines of a short one."""
    once, twice = (Room(one_after_another([ACT] * many)).taken() for many in (1, 2))
    assert once < twice < 1.2 * once


def test_a_plan_that_is_filled_keeps_to_its_room() -> None:
    """And gets no dearer by it."""
    made = grown(plan().round, ROOM / 2)
    before, gardener = made.whole(), Gardener(made)
    gardener.fill(ROOM)
    assert gardener.room.taken() <= ROOM
    assert made.whole() <= before


@pytest.mark.parametrize(
    ("outcomes", "named"),
    [(("left", "right", "neither"), [1, 2, 0]), (("low", "high", "right"), [0, 0, 0])],
)
def test_an_outcome_that_is_right_is_not_the_right_leg(outcomes: tuple[str, ...], named: list[int]) -> None:
    """A check names a leg where it tells legs apart."""
    known = book()
    part, check = next(iter(known.components.values())), known.checks["switch-continuity"]
    told = tuple(replace(o, id=name) for o, name in zip(check.outcomes, outcomes, strict=True))
    made = plan(replace(
        known, checks={**known.checks, check.id: replace(check, outcomes=told)},
        components={**known.components, part.id: replace(part, legs=("left", "right"))},
    ))  # fmt: skip
    first = made.facts.first[[c.id for c in made.job.checks].index(check.id)]
    assert made.facts.names_leg[first : first + 3] == named


def test_what_is_found_after_a_repair_may_stop_what_follows() -> None:
    """A guard switch seen open speaks against the floor panel, which the brushes need: help is called then."""
    known = book()
    check, act = known.checks["switch-continuity"], known.actions["replace-guard-switch"]
    seen = (replace(check.outcomes[0], bars=("floor-panel-out",)), *check.outcomes[1:])
    made = plan(replace(
        known, checks={**known.checks, check.id: replace(check, outcomes=seen)},
        actions={**known.actions, act.id: replace(act, follow_up=(*act.follow_up, check.id))},
    ))  # fmt: skip
    place = {a.id: number for number, a in enumerate(made.job.actions)}
    brushes, lead = (made.add(Step("act", place[name]), [END, HELP]) for name in ("replace-brushes", "mend-lead"))
    column = made.facts.first[[c.id for c in made.job.checks].index(check.id)]
    chance = made.stopped(place[act.id], brushes, 0)
    assert chance is not None
    assert chance.tolist() == (made.job.shown[:, column] ** 2).tolist()  # it is looked at once more
    assert made.stopped(place[act.id], lead, 0) is None
    assert made.stopped(place[act.id], HELP, 0) is None


def test_a_repair_tried_before_lifts_nothing() -> None:
    """Met again it is passed over with the checks after it, so what was found meanwhile still speaks against a step."""
    known = book()
    check, act = known.checks["switch-continuity"], known.actions["replace-brushes"]
    proof = next(c for c in known.checks.values() if c.proof)
    seen = (replace(check.outcomes[0], bars=(*proof.needs, "on-jacks")), *check.outcomes[1:])
    made = plan(replace(known, checks={**known.checks, check.id: replace(check, outcomes=seen)}))
    look = Step("check", [c.id for c in made.job.checks].index(check.id))
    mend, other = (
        Step("act", [a.id for a in made.job.actions].index(name)) for name in (act.id, "replace-guard-switch")
    )
    found = 1 << made.facts.first[look.place]
    then = made.add(mend, [END, made.add(other, [END, HELP])])
    allowed = {}
    for name, tried in (("first", [look]), ("again", [mend, look])):
        past = {0: Behind()}
        for step in tried:
            past = made.past(step, 0 if step is look else 1, past)
        assert past[0].barring == found
        allowed[name] = made.allowed(past, then)
        assert bool(made.past(mend, 1, past)[0].barring) is not allowed[name]
    assert allowed == {"first": True, "again": False}
    met = made.add(look, [then] * len(check.outcomes))
    assert made.allowed({0: Behind()}, met)
    assert not made.allowed(made.past(mend, 1, {0: Behind()}), met)  # what is found on the way is not lifted either


def barring_book() -> Book:
    """A switch seen open speaks against the floor panel, until it is seen closed or the motor is heard."""
    known = book()
    check = known.checks["switch-continuity"]
    seen = (replace(check.outcomes[0], bars=("floor-panel-out",), until=("motor-sound",)), *check.outcomes[1:])
    return replace(known, checks={**known.checks, check.id: replace(check, outcomes=seen)})


def step_of(made: Plan, kind: str, name: str) -> Step:
    """The step of a check or a repair by its id."""
    items = made.job.actions if kind == "act" else made.job.checks
    return Step(kind, [item.id for item in items].index(name))


def test_looking_back_tells_what_still_speaks_against_a_step() -> None:
    """Only what was ticked last may still stand; nothing does where the check was not done."""
    made = plan(barring_book())
    look, brushes = step_of(made, "check", "switch-continuity"), step_of(made, "act", "replace-brushes")
    back, many = Step("back", look.place), len(made.job.checks[look.place].outcomes)
    found = 1 << made.facts.first[look.place]
    behind = {0: Behind(barring=found)}
    stands = [made.past(back, o, behind)[0].barring for o in range(many + 1)]
    assert stands == [found, *[0] * many]
    barred = made.add(brushes, [END, HELP])
    assert not made.allowed(behind, barred)
    assert made.allowed(behind, made.add(back, [HELP, *[barred] * many]))
    assert not made.allowed(behind, made.add(back, [barred, *[HELP] * many]))


def test_a_check_that_may_be_passed_over_lifts_nothing_of_another() -> None:
    """Done for the first time it does; its own finding is what it showed last in any case."""
    made = plan(barring_book())
    look, lifts = step_of(made, "check", "switch-continuity"), step_of(made, "check", "motor-sound")
    found = 1 << made.facts.first[look.place]
    first, again = (
        made.past(lifts, 1, {0: Behind(may=may, barring=found)})[0].barring for may in (0, made.facts.bit(lifts))
    )
    assert (first, again) == (0, found)
    assert made.past(look, 1, {0: Behind(may=made.facts.bit(look), barring=found)})[0].barring == 0


def test_a_repair_done_twice_is_one_that_failed_and_was_done_again() -> None:
    """Costs, what is left, and values backwards all come to the same as the sum of two tries."""
    once, twice = one_after_another([ACT]), one_after_another([ACT._replace(twice=True)])
    job, costs = once.job, once.costs
    cost = costs.of(ACT, frozenset())
    assert cost is not None
    again = costs.of(ACT, cost[1])
    assert again is not None
    left = job.after_failed(ACT.place, job.weights)
    second = again[0] * float(left.sum()) + costs.ended(ACT.place, again[1], left)
    help_saved = costs.help * float(left.sum() - job.after_failed(ACT.place, left).sum())
    assert twice.whole() == pytest.approx(once.whole() + second - help_saved)
    assert float(job.weights @ twice.value(twice.root, frozenset(), 0)) == pytest.approx(twice.whole(), rel=1e-4)
    assert clock.minutes(twice)[1] == pytest.approx(float(job.after_failed(ACT.place, left).sum()))


def test_what_was_shown_before_a_repair_done_twice_is_looked_up() -> None:
    """It is what was shown before the first try."""
    made = looking_back(CHECK)
    (act,), (back,) = ([n for n in made.order() if made.nodes[n].step.kind == kind] for kind in ("act", "back"))
    made.alter(act, ACT._replace(twice=True), made.nodes[act].to)
    first, many = made.facts.first[0], len(made.job.checks[0].outcomes)
    _, edges = made.flows()
    shown = [float(sum(w.sum() for w in edges[back, o].values())) for o in range(many)]
    left = made.job.weights[:, None] * made.job.shown[:, first : first + many]
    for _ in range(2):
        left = np.array([made.job.after_failed(0, w) for w in left.T]).T
    assert shown == pytest.approx(left.sum(axis=0).tolist(), abs=1e-4)


def test_a_repair_to_which_nothing_comes_stays_as_it_is() -> None:
    """A way that is there only for what cannot be shown."""
    made = plan()
    unseen = made.add(ACT, [END, HELP])
    back = made.add(Step("back", CHECK.place), [unseen] * len(made.job.checks[CHECK.place].outcomes) + [HELP])
    made.lead(START, back)
    Gardener(made).try_again()
    assert made.nodes[unseen].step == ACT


@pytest.mark.parametrize(("dearer", "twice"), [(0.01, False), (50.0, True)])
def test_a_repair_is_tried_again_where_that_is_better_than_what_follows(dearer: float, twice: bool) -> None:
    """It is before dear help; where a second try would cost more than help it is not."""
    made = Plan(plan().round, dearer)
    made.lead(START, made.add(ACT._replace(twice=not twice), [END, HELP]))
    Gardener(made).try_again()
    assert made.nodes[made.root].step.twice is twice
