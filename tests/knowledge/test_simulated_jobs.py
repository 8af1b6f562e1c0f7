"""Simulated jobs played with the advisor to the end, and the rules that no advice may break.

The suite plays two jobs for each symptom of the shipped book with the quick choice and six with the refined one; more
by ``FAULTTREE_JOBS`` and ``FAULTTREE_REFINED_JOBS``. Ten thousand:
``python tests/jobs/run.py --jobs 10000 --seed 1 --processes 2``.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache
from multiprocessing import get_context

import numpy as np
import pytest

from faulttree.advice import Advisor, Figures, Situation, Suggestion, follow_ups
from faulttree.belief import Believer, Did, Entry, Evidence, Reported, plain
from faulttree.book.model import Book
from tests.jobs import rules
from tests.jobs.gear import Gear, Modes, draw_job, event_holds
from tests.jobs.rules import Facts, Rule, Scene
from tests.jobs.run import MOST_STEPS, Played, Player, draw_pools, play_symptom, shipped_book
from tests.published.simulation import holds
from tests.support.small_family import small_book

JOBS = int(os.environ.get("FAULTTREE_JOBS", "54"))
REFINED_JOBS = int(os.environ.get("FAULTTREE_REFINED_JOBS", "6"))
SMALL_JOBS, SMALL_REFINED_JOBS = 200, 20
REFINED_STATES = 100
SETS = 2
"""Faults taken to be there at once; the advice plays on the heaviest rows, where three are hardly ever seen."""
SEED = 2
GEARS = 200
"""Gears drawn for each symptom: enough for the jobs of the suite."""
SYMPTOM = "will-not-retract"


@pytest.fixture(scope="module")
def book() -> Book:
    return shipped_book()


@pytest.fixture(scope="module")
def gears(book: Book) -> dict[str, list[Modes]]:
    return draw_pools(book, SEED, count=GEARS)


def played(book: Book, jobs: int, states: int = 0) -> list[Played]:
    player, pools, symptoms = Player(book, states, SETS), draw_pools(book, SEED), len(book.symptoms)
    # Symptom by symptom: jobs of one share most of what is worked out.
    numbers = sorted(range(jobs), key=lambda number: (number % symptoms, number))
    return [player.play(draw_job(book, pools, SEED, number)) for number in numbers]


def side_by_side(book: Book, jobs: int, states: int = 0) -> list[Played]:
    """The jobs of the shipped book on two processes, symptom by symptom."""
    with ProcessPoolExecutor(2, get_context("spawn")) as workers:
        running = [
            workers.submit(play_symptom, book.family, SEED, symptom, jobs, states, SETS, count=GEARS)
            for symptom in book.symptoms
        ]
        return [job for one in running for job in one.result()]


# ------------------------------------------------------------------------------------------------------- jobs


@pytest.fixture(scope="module")
def quick(book: Book) -> list[Played]:
    return side_by_side(book, JOBS)


@pytest.fixture(scope="module")
def small() -> list[Played]:
    return played(small_book(), SMALL_JOBS)


def broken(jobs: Sequence[Played]) -> list[str]:
    return [f"job {job.number} ({job.symptom}): {told}" for job in jobs for told in job.breaches]


def test_no_advice_on_the_shipped_book_breaks_a_rule(quick: list[Played]) -> None:
    """Whatever came up in jobs on the shipped book, no suggestion broke a rule and every job came to an end."""
    assert broken(quick) == []


def test_no_advice_on_a_small_book_breaks_a_rule(small: list[Played]) -> None:
    """The same on two hundred jobs of a made-up family."""
    assert broken(small) == []


def test_no_refined_advice_on_a_small_book_breaks_a_rule() -> None:
    """The same with the refined choice on twenty jobs of a made-up family."""
    assert broken(played(small_book(), SMALL_REFINED_JOBS, REFINED_STATES)) == []


def test_no_refined_advice_on_the_shipped_book_breaks_a_rule(book: Book) -> None:
    """The same with the refined choice on the shipped book."""
    assert broken(side_by_side(book, REFINED_JOBS, REFINED_STATES)) == []


def test_minutes_of_a_job_hold_those_of_its_actions(small: list[Played]) -> None:
    """A job of so many actions and a proof after each takes at least their own minutes."""
    checks, actions = small_book().checks, small_book().actions
    for job in small:
        least = sum((checks[s] if s in checks else actions[s]).minutes for s in job.steps)
        assert job.minutes >= least


def test_the_same_seed_plays_the_same_job(small: list[Played]) -> None:
    """A job depends on its seed and number alone, not on what was played before it."""
    made_up = small_book()
    number = small[-1].number
    assert Player(made_up, sets=SETS).play(draw_job(made_up, draw_pools(made_up, SEED), SEED, number)) == small[-1]


def test_jobs_differ_in_who_and_what_is_at_hand(book: Book, gears: dict[str, list[Modes]]) -> None:
    """Of four hundred jobs about a tenth each has one mechanic alone, a lack, something wanted before all else."""
    jobs = [draw_job(book, gears, SEED, number) for number in range(400)]
    first = {(q.id, a.id) for q in book.opening for a in q.answers if a.first}
    counts = (
        sum(job.people == 1 for job in jobs),
        sum(len(job.lacking) == 1 for job in jobs),
        sum(not first.isdisjoint(job.opening.items()) for job in jobs),
    )
    assert all(20 <= count <= 60 for count in counts), counts  # 40 and four standard deviations of 6 would be 16 to 64


# ------------------------------------------------------------------------------------------------------ gears


def test_every_gear_drawn_gives_its_symptom(book: Book, gears: dict[str, list[Modes]]) -> None:
    """With every mode awake each gear of a pool shows the symptom that it was drawn for."""
    for symptom, pool in gears.items():
        assert all(event_holds(book, symptom, gear.all) for gear in pool), symptom


def test_events_hold_as_in_the_other_simulation(book: Book, gears: dict[str, list[Modes]]) -> None:
    """Event by event, on two hundred gears, the same holds as in the simulation of many gears at once."""
    pool = [gear.all for gear in gears[SYMPTOM][:200]]
    faults = list(book.faults)
    awake = np.array([[fault in gear for fault in faults] for gear in pool])
    for event in book.events:
        other = np.broadcast_to(holds(book, event, awake), len(pool))  # an event with nothing fitted is one False
        assert other.tolist() == [event_holds(book, event, gear) for gear in pool], event


class Fixed(Gear):
    """A gear with given modes."""

    def __init__(self, book: Book, symptom: str, modes: Modes, *, unlisted: bool = False) -> None:
        super().__init__(book, symptom, [modes], np.random.default_rng(SEED))
        self.unlisted, self.was, self.now = unlisted, modes, modes


def share(gear: Gear, check: str, outcome: str, looks: int = 4000) -> float:
    return sum(gear.show(check) == outcome for _ in range(looks)) / looks


def test_a_sleeping_fault_shows_as_often_as_it_is_awake_and_detected() -> None:
    """The lead awake with 0.3 + 0.8 x 0.7 is caught with 0.95; else it reads by the false alarm of 0.02 over two."""
    gear = Fixed(small_book(), "stays-down", Modes(sleeping=frozenset(["guard-switch.lead-chafed"])))
    awake = 0.3 + 0.8 * 0.7
    chance = awake * 0.95 + (1 - awake) * 0.01
    assert share(gear, "switch-continuity", "jumps") == pytest.approx(chance, abs=0.025)


def test_an_unlisted_cause_shows_the_squawk_at_the_proof() -> None:
    """Nothing listed stands, and the proof shows the squawk with its `detects` of 0.95."""
    gear = Fixed(small_book(), "stays-down", Modes(), unlisted=True)
    assert share(gear, "cycle-test", "remains") == pytest.approx(0.95, abs=0.02)


def test_an_action_removes_with_its_effectiveness() -> None:
    """One in twenty of repairs leaves the fault standing (`effective` 0.95)."""
    made_up, stuck = small_book(), Modes(hard=frozenset(["guard-switch.stuck"]))
    gear, left = Fixed(made_up, "stays-down", stuck), 0
    for _ in range(4000):
        gear.now = stuck
        gear.repair("replace-guard-switch")
        left += gear.faulty
    assert left / 4000 == pytest.approx(0.05, abs=0.015)


# ------------------------------------------------------------------------------------------------------ rules


@cache
def honest(entries: tuple[Entry, ...], situation: Situation) -> Scene:
    """What the quick choice says on the shipped book after the symptom and these entries."""
    book, evidence = shipped_book(), Evidence((Reported(SYMPTOM), *entries))
    advice = Advisor(book).advise(Believer(book).believe(evidence), situation)
    return Scene(Facts(book), evidence, situation, advice)


def scene(book: Book, entries: Sequence[Entry] = (), situation: Situation | None = None) -> Scene:
    """The same, with another book to hold it against."""
    return replace(honest(tuple(entries), situation or Situation()), facts=Facts(book))


def repaired(book: Book) -> Scene:
    """The same after a repair whose follow-ups are due."""
    action = "rig-ground-safety-switch"
    owed = tuple(follow_ups(book, [action], ["retraction-test"]))
    return scene(book, [Did(action)], Situation(owed=owed, acted=True))


def put(given: Scene, *suggestions: Suggestion) -> Scene:
    """A scene with these suggestions instead of its own."""
    return replace(given, advice=replace(given.advice, suggestions=suggestions))


def also(given: Scene, suggestion: Suggestion) -> Scene:
    """A scene with one suggestion more, at the end."""
    return put(given, *given.advice.suggestions, suggestion)


def pick(given: Scene, step: str) -> Suggestion:
    """A suggestion by its id."""
    return next(s for s in given.advice.suggestions if s.id == step)


def changed(given: Scene, step: str, **fields: object) -> Scene:
    """A scene in which one suggestion alone is left, with some of its fields other than they were."""
    return put(given, replace(pick(given, step), **fields))  # type: ignore[arg-type]  # fields by name


PROBE = "volts-at-selector-up"
QUESTION = "horn-on-selecting-up"


def bare(book: Book, step: str, kind: str = "check", **fields: object) -> Suggestion:
    """A suggestion made by hand."""
    item = book.actions[step] if kind == "act" else book.checks[step]
    made = Suggestion(kind, step, item.name, 100.0, item.minutes, people=item.people, needs=item.needs)
    return replace(made, **fields)  # type: ignore[arg-type]  # fields by name


def without_caution(step: str, caution: str) -> Callable[[Book], Scene]:
    """One caution lost from a step that shows it."""

    def made(book: Book) -> Scene:
        given = scene(book)
        shown = pick(given, step).cautions
        assert caution in shown
        return changed(given, step, cautions=tuple(c for c in shown if c != caution))

    return made


def on_wheels(book: Book) -> Book:
    """A book in which a probe with UP selected does not ask for jacks."""
    probe = replace(book.checks[PROBE], needs=("master-on",))
    return replace(book, checks={**book.checks, PROBE: probe})


def powered_on_wheels(book: Book) -> Book:
    """A book in which power may be let into the gear on the wheels."""
    powered = replace(book.conditions["gear-powered"], implies=("secured",))
    return replace(book, conditions={**book.conditions, "gear-powered": powered})


FIRST = Situation(first=("on-jacks",))
RESET = "reset-motor-breaker"
FAILED = ("retraction-test", "squawk-remains")
SET_UP = ("secured", "on-jacks", "floor-panel-out")

DOCTORED: list[tuple[Rule, str, Callable[[Book], Scene]]] = [
    (rules.kinds_are_known, "deferred", lambda b: changed(scene(b), PROBE, kind="defer")),
    (rules.kinds_are_known, "twice", lambda b: also(scene(b), pick(scene(b), PROBE))),
    (rules.kinds_are_known, "unknown", lambda b: changed(scene(b), PROBE, id="no-such-check")),
    (rules.help_is_there, "no help", lambda b: changed(scene(b), PROBE)),
    (rules.cautions_are_complete, "own", without_caution(PROBE, "never-bridge-safety-devices")),
    (rules.cautions_are_complete, "condition", without_caution(PROBE, "jack-stability")),
    (rules.cautions_are_complete, "symptom", without_caution(PROBE, "no-could-not-duplicate")),
    (rules.cautions_are_complete, "part", without_caution("hand-crank-cycle", "rod-length-gauged-not-seen")),
    (rules.cautions_are_complete, "restored", lambda b: changed(scene(b), QUESTION, to_restore=("gear-powered",))),
    (
        rules.warnings_come_first, "reversed",
        lambda b: changed(scene(b), PROBE, cautions=pick(scene(b), PROBE).cautions[::-1]),
    ),
    (rules.forced_conditions_come_first, "a look", lambda b: put(scene(b, (), FIRST), bare(b, "breakers-as-found"))),
    (
        rules.forced_conditions_come_first, "a question that moves",
        lambda b: changed(scene(b, (), FIRST), QUESTION, to_set_up=("secured",)),
    ),
    (rules.nothing_unproposed, "check", lambda b: put(scene(b), bare(b, "flight-observation", needs=()))),
    (rules.nothing_unproposed, "condition", lambda b: changed(scene(b), PROBE, to_set_up=("flight",))),
    (
        rules.prerequisites_are_done, "not done",
        lambda b: put(scene(b), bare(b, "select-up-on-jacks")),
    ),
    (rules.prerequisites_are_done, "leads nowhere", lambda b: changed(scene(b), PROBE, leads_to="hand-crank-cycle")),
    (
        rules.nothing_against_it, "cracked",
        lambda b: put(scene(b, (plain(b, "brace-look-left", "cracked"),)), bare(b, "select-up-on-jacks")),
    ),
    (rules.shown_before_repaired, "unmeasured", lambda b: put(scene(b), bare(b, "replace-motor-breaker", "act"))),
    (rules.moves_can_be_made, "nothing set up", lambda b: changed(scene(b), PROBE, to_set_up=())),
    (
        rules.moves_can_be_made, "order",
        lambda b: changed(scene(b), PROBE, to_set_up=pick(scene(b), PROBE).to_set_up[::-1]),
    ),
    (rules.moves_can_be_made, "panel under jacks", lambda b: changed(scene(b), PROBE, to_set_up=SET_UP)),
    (rules.moves_can_be_made, "not standing", lambda b: changed(scene(b), PROBE, to_restore=("on-jacks",))),
    (rules.people_and_equipment, "people not told", lambda b: changed(scene(b), PROBE, people=1)),
    (rules.people_and_equipment, "equipment not told", lambda b: changed(scene(b), PROBE, equipment=())),
    (rules.people_and_equipment, "alone", lambda b: replace(scene(b), situation=Situation(people=1))),
    (
        rules.people_and_equipment, "lacking",
        lambda b: replace(scene(b), situation=Situation(lacking=frozenset(["jacks-and-stands"]))),
    ),
    (rules.hazards_have_their_people, "alone", lambda b: changed(scene(b), PROBE, people=1)),
    (rules.owed_comes_first, "forgotten", lambda b: put(repaired(b), *scene(b).advice.suggestions)),
    (
        rules.owed_comes_first, "order",
        lambda b: put(repaired(b), *repaired(b).advice.suggestions[1::-1], *repaired(b).advice.suggestions[2:]),
    ),
    (rules.owed_comes_first, "wrongly worked out", lambda b: replace(repaired(b), situation=Situation(acted=True))),
    (rules.owed_comes_first, "called due", lambda b: changed(scene(b), PROBE, owed=True)),
    (rules.proofs_follow_actions, "before any", lambda b: also(scene(b), bare(b, "retraction-test"))),
    (
        rules.proofs_follow_actions, "after a failed one",
        lambda b: also(
            scene(b, [Did(RESET), plain(b, *FAILED)]), bare(b, "retraction-test")
        ),
    ),
    (rules.nothing_repaired_while_owed, "an action", lambda b: also(repaired(b), bare(b, RESET, "act"))),
    (
        rules.no_check_twice, "a look again",
        lambda b: replace(scene(b), evidence=scene(b, [plain(b, QUESTION, "blew")]).evidence),
    ),
    (rules.up_on_jacks_only, "words and caution", lambda b: put(scene(on_wheels(b)), bare(on_wheels(b), PROBE))),
    (
        rules.up_on_jacks_only, "power",
        lambda b: replace(
            put(scene(b), bare(b, "observe-slow-cycle", needs=("gear-powered",), to_set_up=("gear-powered",))),
            facts=Facts(powered_on_wheels(b)),
        ),
    ),
    (
        rules.no_second_reset, "again",
        lambda b: also(scene(b, [Did(RESET), plain(b, *FAILED)]), bare(b, RESET, "act")),
    ),
    *(
        (rules.words_never_written, f"{field}: {words}", lambda b, f=field, w=words: changed(scene(b), PROBE, **{f: w}))
        for field in ("why", "name")
        for words in ("It is airworthy then.", "Return to service", "returned-to-service", "Overhauled", "rebuilt")
    ),
    (rules.outcomes_add_up, "none", lambda b: changed(scene(b), PROBE, outcomes=())),
    (
        rules.outcomes_add_up, "too much",
        lambda b: changed(
            scene(b), PROBE, outcomes=tuple(replace(o, probability=0.6) for o in pick(scene(b), PROBE).outcomes)
        ),
    ),
    (rules.minutes_make_sense, "not a number", lambda b: changed(scene(b), PROBE, expected_minutes=math.nan)),
    (rules.minutes_make_sense, "negative", lambda b: changed(scene(b), PROBE, expected_minutes=-1.0)),
    (rules.minutes_make_sense, "set-up left out", lambda b: changed(scene(b), PROBE, minutes_now=5.0)),
    (
        rules.minutes_make_sense, "to go",
        lambda b: replace(
            scene(b), advice=replace(scene(b).advice, to_go=replace(scene(b).advice.to_go, p80=-1.0))
        ),
    ),
    (rules.best_first, "reversed", lambda b: put(scene(b), *scene(b).advice.suggestions[::-1])),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "doctored"), [pytest.param(r, made, id=f"{r.__name__}-{name}") for r, name, made in DOCTORED]
)
def test_a_rule_catches_what_breaks_it(book: Book, rule: Rule, doctored: Callable[[Book], Scene]) -> None:
    """An advice doctored against a rule is told by that rule."""
    assert list(rule(doctored(book)))


@pytest.mark.parametrize("rule", rules.RULES, ids=lambda rule: rule.__name__)
def test_a_rule_lets_sound_advice_pass(book: Book, rule: Rule) -> None:
    """The advice at the beginning of a job, and that after a repair, break no rule."""
    assert list(rule(scene(book))) + list(rule(repaired(book))) == []


def test_every_rule_is_doctored_against() -> None:
    """No rule is without an advice that breaks it."""
    assert {rule for rule, _, _ in DOCTORED} == set(rules.RULES)


def test_no_step_of_the_book_selects_up_on_the_wheels(book: Book) -> None:
    """Every check and action of the shipped book that selects UP or powers the gear needs jacks, suggested or not."""
    steps = [bare(book, c.id, "ask" if c.kind == "ask" else "check") for c in book.checks.values() if c.proposed]
    steps += [bare(book, action, "act") for action in book.actions]
    assert list(rules.up_on_jacks_only(put(scene(book), *steps))) == []


def test_a_tripped_breaker_is_not_reset_twice(book: Book) -> None:
    """However dear help is: reset once, squawk still there, breaker out again - a second reset is no way on."""
    out = plain(book, "breakers-as-found", "motor-out")
    evidence = Evidence((Reported(SYMPTOM), out, Did(RESET), plain(book, *FAILED), out))
    situation = Situation(done=frozenset([out.check]), ever=frozenset([out.check, FAILED[0]]), acted=True)
    advisor = Advisor(book, Figures(care=10, wait_weight=0.1, help=50_000, comeback=960))
    advice = advisor.advise(Believer(book).believe(evidence), situation)
    assert list(rules.no_second_reset(Scene(Facts(book), evidence, situation, advice))) == []


def test_a_job_without_end_is_a_breach(book: Book, gears: dict[str, list[Modes]]) -> None:
    """Where advice goes round in circles the job is stopped after so many steps, and that is told."""
    player = Player(book)
    seen = player.see(Evidence((Reported(SYMPTOM),)), Situation())
    player.see = lambda evidence, situation: seen  # type: ignore[method-assign]  # the same advice for ever
    job = player.play(draw_job(book, gears, SEED, 0))
    assert (len(job.steps), job.breaches[-1]) == (MOST_STEPS, "does not end")
