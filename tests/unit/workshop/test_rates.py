"""What closed cases make of rates and accuracies."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from faulttree.book.model import Book
from faulttree.workshop.rates import CHECK_STRENGTH, DOWN, STRENGTH, UP, Exposure, Learned, LearnedRate, learn
from tests.jobs.rates import causes, closed_case, nearer
from tests.jobs.run import shipped_book
from tests.support.belief_cases import law
from tests.support.books import fault, gate, make_book, symptom
from tests.support.closed_cases import New, answer, closed, entries, found, one_repair_for_the_switch
from tests.support.small_family import small_book

STUCK, CHAFED, WORN = "guard-switch.stuck", "guard-switch.lead-chafed", "motor.brushes-worn"
RATES = {STUCK: 0.3, CHAFED: 0.2, WORN: 0.3}


@cache
def able() -> dict[str, list[str]]:
    """What brings each symptom of the shipped book about alone."""
    return causes(shipped_book())


def of(learned: Learned, name: str) -> LearnedRate:
    """What was learned of one fault."""
    return next(one for one in learned.rates if one.fault == name)


def test_with_hours_a_rate_is_the_gamma_posterior() -> None:
    """Forty stuck switches in 100 000 hours, of which the book expects thirty."""
    book = small_book()
    one = of(learn("made-up", found(book, STUCK, 40), [Exposure(100_000.0, book)]), STUCK)
    assert (one.found, one.expected) == (40, pytest.approx(30.0))
    assert one.figure.now == pytest.approx(0.3 * (STRENGTH + 40.0) / (STRENGTH + 30.0))
    assert one.figure.low < one.figure.now < one.figure.high


def test_with_hours_what_is_never_found_becomes_rarer() -> None:
    """The hours say so."""
    book = small_book()
    one = of(learn("made-up", found(book, STUCK, 40), [Exposure(100_000.0, book)]), WORN)
    assert one.figure.by_count / one.figure.was == pytest.approx(STRENGTH / (STRENGTH + 30.0))


def test_hours_count_for_less_where_causes_were_not_found() -> None:
    """Forty of eighty squawks have no cause: then the forty found stand for half of the hours."""
    book = small_book()
    squawks = [("stays-down",)] * 80
    one = of(learn("made-up", found(book, STUCK, 40), [Exposure(100_000.0, book)], squawks), STUCK)
    assert one.expected == pytest.approx(15.0)


def test_without_hours_the_shares_within_the_symptom_come_out() -> None:
    """Of 2000 cases six in ten are stuck, three chafed, one worn."""
    book = small_book()
    cases = [*found(book, STUCK, 1200), *found(book, CHAFED, 600), *found(book, WORN, 200)]
    learned = learn("made-up", cases)
    now = {name: of(learned, name).figure.now for name in RATES}
    shares = [rate / sum(now.values()) for rate in now.values()]
    assert learned.hours is None
    assert shares == pytest.approx([0.6, 0.3, 0.1], abs=0.01)


def test_without_hours_cases_as_the_book_expects_them_move_nothing() -> None:
    """Three, two and three of eight, ten times over."""
    book = small_book()
    cases = [case for name, rate in RATES.items() for case in found(book, name, round(rate * 100))]
    assert all(one.figure.factor == pytest.approx(1.0, abs=0.01) for one in learn("made-up", cases).rates)


def shared_out(found: dict[str, int], weights: dict[str, float]) -> dict[str, float]:
    """The expected numbers of one squawk by halving: the time in which rates as learned give as many as were found.

    Factors are (STRENGTH + n) / (STRENGTH + time x weight); shares no code with the program.
    """

    def too_many(time: float) -> bool:
        each = ((STRENGTH + found[f]) / (STRENGTH + time * w) * time * w for f, w in weights.items())
        return sum(each) > sum(found.values())

    low, high = 0.0, 1e9
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (low, middle) if too_many(middle) else (middle, high)
    return {f: low * w for f, w in weights.items()}


@pytest.mark.parametrize("hours", [None, 2000.0])
def test_what_is_expected_settles_where_nothing_changes(hours: float | None) -> None:
    """Beside the fixed point found otherwise; by the case's hours, in which few of a common fault are left out."""
    book, number = small_book(), {STUCK: 30, CHAFED: 8, WORN: 2}
    of_hours: list[New] = [] if hours is None else [("hours", {"hours": hours})]
    cases = [
        closed(book, *entries(name, *of_hours, ("found", {"fault": name})))
        for name, many in number.items() for _ in range(many)
    ]  # fmt: skip
    flown = (hours or book.defaults.hours) / 1000.0
    parts = {STUCK: [0.3], CHAFED: [0.2 * 0.3, 0.2 * 0.7], WORN: [0.3]}
    weights = {name: sum(-math.expm1(-rate * flown) for rate in rates) for name, rates in parts.items()}
    expected = shared_out(number, weights)
    learned = learn("made-up", cases)
    assert {name: of(learned, name).expected for name in RATES} == pytest.approx(expected, rel=1e-6)


def two_symptoms() -> Book:
    """One of two faults brings a second symptom too, of which a pilot who was asked would have spoken in nine of ten;
    it has a plain probability."""
    small = small_book()
    made = make_book(
        faults=[fault("a.x", probability=0.2), fault("b.x", rate=0.3)],
        events=[gate("either", "any_of", "a.x", "b.x")],
        symptoms=[symptom("stays-down", "either"), symptom("horn-silent", "a.x")],
        checks=[small.checks["cycle-test"]],
    )
    return replace(made, family=small.family)


def learned_of(name: str, many: int, *more: New) -> Learned:
    """From so many cases of that book with a cause that was seen and nothing repaired."""
    book = two_symptoms()
    log = [e for e in entries(name, *more, ("found", {"fault": name}), action="none") if e[0] != "did"]
    return learn("made-up", [closed(book, *log)] * many)


def test_a_symptom_that_was_denied_speaks_against_what_brings_it() -> None:
    """Of one case, the fault that would have brought it is expected a tenth as often."""
    denied: New = ("symptom", {"symptom": "horn-silent", "present": False})
    ratios = []
    for more in ([], [denied]):
        learned = learned_of("b.x", 1, *more)
        ratios.append(of(learned, "a.x").expected / of(learned, "b.x").expected)
    assert ratios[1] == pytest.approx(ratios[0] / 10.0, rel=1e-6)


def test_a_plain_probability_moves_as_the_rate_with_the_same_chance() -> None:
    """1 - (1 - p) to the power of the factor, which is not p times the factor."""
    one = of(learned_of("a.x", 400), "a.x")
    factor = (STRENGTH + one.found) / (STRENGTH + one.expected)
    assert not one.per_hours
    assert one.figure.now == pytest.approx(1.0 - 0.8**factor)
    assert abs(one.figure.now - 0.2 * factor) > 1e-4


@pytest.mark.parametrize(("shown", "now"), [("silent", 1.0 - 0.3 * UP), ("hummed", 1.0 - 0.3 * 50.0 / 55.0)])
def test_few_answers_move_an_accuracy_by_a_fifth_at_most(shown: str, now: float) -> None:
    """Of the part that is wrong. Five that were right move it less than that, so nothing is held (own arithmetic)."""
    cases = [closed(small_book(), *entries(WORN, answer("motor-sound", shown)))] * 5
    (one,) = [a for a in learn("made-up", cases).accuracies if a.what == "detects"]
    assert one.figure.now == pytest.approx(now)
    assert one.figure.held == (shown == "silent")


@pytest.mark.parametrize(("shown", "now"), [("silent", 0.0), ("hummed", 1e-3 * UP)])
def test_a_check_that_never_erred_stays_so_until_it_does(shown: str, now: float) -> None:
    """Right answers are no reason to doubt it; one wrong one is."""
    book = one_repair_for_the_switch()
    sound = replace(book.checks["motor-sound"], false_alarm=0.0)
    book = replace(book, checks={**book.checks, sound.id: sound})
    log = entries(STUCK, ("found", {"fault": STUCK}), answer("motor-sound", shown), action="replace-guard-switch")
    (one,) = [a for a in learn("made-up", [closed(book, *log)] * 5).accuracies if a.what == "false_alarm"]
    assert one.figure.now == pytest.approx(now)


def test_circumstances_explain_their_part() -> None:
    """What every case of a cold morning shows is no news of the plain rate: the book expects more of it there."""
    shipped = shipped_book()
    cold = next(
        c for c in shipped.circumstances.values() if any(c.id in f.promoted_by for f in shipped.faults.values())
    )
    promoted = next(f for faults in able().values() for f in faults if cold.id in shipped.faults[f].promoted_by)
    squawk = next(s for s, faults in able().items() if promoted in faults)
    case = closed_case(shipped, 1, squawk, promoted)
    there = [*case.entries[:2], type(case.entries[0])(9, "", "", "circumstance", {"circumstances": [cold.id]})]
    other = type(case)(case.name, [*there, *case.entries[2:]], case.book, case.today)
    plainly, coldly = (next(r for r in learn("x", [c]).rates if r.found).expected for c in (case, other))
    assert coldly > plainly


def test_legs_are_one_entry() -> None:
    """Two finds on the left and one on the nose are three of the entry, whose rate is that of all legs."""
    legs = [
        fault(f"lock-{leg}.dry", component="lock", leg=leg, rate=rate) for leg, rate in (("left", 0.3), ("nose", 0.1))
    ]
    book = make_book(
        faults=[*legs, fault("horn.dead", rate=0.4)],
        events=[gate("any", "any_of", *(f.id for f in legs), "horn.dead")],
        symptoms=[symptom("stays-down", "any")], checks=small_book().checks.values(),
    )  # fmt: skip
    names = ["lock-left.dry", "lock-left.dry", "lock-nose.dry"]
    log = [entries(name, ("found", {"fault": name}), action="mend") for name in names]
    cases = [closed(book, *[e for e in each if e[0] != "did"]) for each in log]
    one = of(learn("made-up", cases), "lock.dry")
    assert (one.found, one.figure.was) == (3, pytest.approx(0.4))


@settings(law, max_examples=10)
@given(st.randoms(use_true_random=False), st.booleans())
def test_five_cases_move_no_rate_by_more_than_a_fifth(rng: Random, flown: bool) -> None:
    """Whichever causes of the shipped book they found, and however many hours are said to have been flown."""
    book = shipped_book()
    known = [(s, f) for s, faults in able().items() for f in faults]
    picked = [rng.choice(known)] * 5 if rng.random() < 0.3 else rng.choices(known, k=5)
    cases = [closed_case(book, i, s, f) for i, (s, f) in enumerate(picked)]
    learned = learn("x", cases, [Exposure(10 ** rng.uniform(0, 6), book)] if flown else [])
    assert len(learned.finds) == 5
    assert all(DOWN - 1e-9 <= one.figure.factor <= UP + 1e-9 for one in learned.rates)


def test_what_is_held_says_what_the_count_alone_would_say() -> None:
    """Five stuck switches of five: the count would nearly double a rate that may move by a fifth."""
    figure = of(learn("made-up", found(small_book(), CHAFED, 5)), CHAFED).figure
    assert figure.held
    assert figure.factor == pytest.approx(UP)
    assert figure.by_count / figure.was > 1.5


def test_two_thousand_cases_halve_the_error_of_the_rates() -> None:
    """Rates altered by up to three, the hours known; a small share of ``python tests/jobs/rates.py``."""
    seen = nearer(shipped_book(), 1, 2000)
    assert seen.with_hours < seen.before / 2
    assert seen.without < seen.before * 0.6


def test_an_accuracy_is_the_beta_posterior() -> None:
    """Sixty chafed motors heard as silent, forty as humming, in a hundred cases of worn brushes."""
    book = small_book()
    cases = [closed(book, *entries(WORN, answer("motor-sound", o))) for o in ["silent"] * 60 + ["hummed"] * 40]
    (one,) = [a for a in learn("made-up", cases).accuracies if a.what == "detects"]
    assert (one.right, one.wrong) == (40.0, 60.0)
    assert one.figure.now == pytest.approx((CHECK_STRENGTH * 0.7 + 40.0) / (CHECK_STRENGTH + 100.0))


def test_false_alarms_are_counted_on_what_a_check_does_not_look_at() -> None:
    """A motor that hums with a stuck switch."""
    book = one_repair_for_the_switch()
    log = entries(STUCK, ("found", {"fault": STUCK}), answer("motor-sound", "hummed"), action="replace-guard-switch")
    (one,) = learn("made-up", [closed(book, *log)] * 50).accuracies
    assert (one.what, one.right, one.wrong) == ("false_alarm", 0.0, 50.0)
    assert one.figure.now == pytest.approx((CHECK_STRENGTH * 0.1 + 50.0) / (CHECK_STRENGTH + 50.0))


def test_nothing_is_learned_of_no_cases() -> None:
    """Not even of hours: where no squawk is kept as a case, none found tells nothing."""
    assert all(one.figure.factor == 1.0 for one in learn("made-up", [], [Exposure(1e6, small_book())]).rates)
