"""The rules for simulated jobs themselves: each catches an advice doctored against it, and lets sound advice pass."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import pytest

from faulttree.advice import Advisor, Figures, Situation, Suggestion, follow_ups
from faulttree.belief import Believer, Did, Entry, Evidence, Reported, plain
from faulttree.book.model import Book
from tests.jobs import rules
from tests.jobs.rules import Rule
from tests.jobs.run import shipped_book
from tests.jobs.scene import Facts, Scene

SYMPTOM = "will-not-retract"


@pytest.fixture(scope="module")
def book() -> Book:
    return shipped_book()


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
