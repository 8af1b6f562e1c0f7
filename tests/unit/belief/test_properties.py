"""What must hold of belief on any book and any case: laws of probability, and rules that the model states."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from faulttree.belief import (
    Answer,
    Belief,
    Believer,
    Denied,
    Did,
    Entry,
    Evidence,
    Found,
    Reported,
    measured,
    plain,
    unsure,
)
from faulttree.book.model import Book, Check, Event, Fault, Reading
from faulttree.errors import BadAnswer
from tests.support.random_books import a_check, a_fault, a_symptom, bare_book, holds, random_book, random_case

Case = tuple[Book, Evidence]
CLOSE = 1e-9

settings.register_profile(
    "belief", deadline=None, derandomize=True, max_examples=60, suppress_health_check=[HealthCheck.too_slow]
)
law = settings.get_profile("belief")


@st.composite
def cases(draw: st.DrawFn, faults: int = 5, steps: int = 5, hours: tuple[float | None, ...] = (None, 10.0)) -> Case:
    """A small book with every feature, and a case on it."""
    rng = draw(st.randoms(use_true_random=False))
    book = random_book(rng, faults, 0.03)
    return book, random_case(rng, book, steps, hours)


def figures(book: Book, belief: Belief) -> dict[str, float]:
    """Every probability that belief gives, by what it is of."""
    out = {"unlisted": belief.unlisted}
    out.update({f"component {name}": p for name, p in belief.components.items()})
    for fault in book.faults:
        out[f"{fault} stands"] = belief.faults[fault].probability
        out[f"{fault} comes and goes"] = belief.faults[fault].comes_and_goes
        out[f"{fault} was there"] = belief.as_it_was[fault]
    for check in book.checks.values():
        for outcome, p in zip(check.outcomes, belief.outcomes(check.id), strict=True):
            out[f"{check.id} would show {outcome.id}"] = p
    return out


def summary(book: Book, belief: Belief) -> dict[str, float]:
    """All probabilities, and the two figures in bits."""
    return {**figures(book, belief), "conflict": belief.conflict_bits, "evidence": belief.log2_evidence}


def epochs(evidence: Evidence) -> Iterator[list[Entry]]:
    """The entries between actions; an action stands at the head of its epoch."""
    part: list[Entry] = []
    for entry in evidence.entries:
        if isinstance(entry, Did):
            yield part
            part = []
        part.append(entry)
    yield part


def shuffled(evidence: Evidence, rng: Random) -> Evidence:
    out: list[Entry] = []
    for n, part in enumerate(epochs(evidence)):
        head, rest = part[: int(n > 0)], part[int(n > 0) :]
        out += head + rng.sample(rest, len(rest))
    return Evidence(tuple(out), evidence.circumstances, evidence.hours)


# --------------------------------------------------------------------------------------------- laws of probability


@law
@given(cases())
def test_probabilities(case: Case) -> None:
    """Every probability lies between 0 and 1."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    assert [x for x in figures(book, belief).items() if not 0.0 <= x[1] <= 1.0] == []


@law
@given(cases(hours=(500.0, 5000.0, 1e6)))
def test_probabilities_after_many_hours(case: Case) -> None:
    """However long the gear was in use, every probability lies between 0 and 1."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    assert [x for x in figures(book, belief).items() if not 0.0 <= x[1] <= 1.0] == []


@law
@given(cases())
def test_parts_of_a_probability(case: Case) -> None:
    """A fault's coming and going is a part of its probability, which is a part of its component's and of 1 - P(U)."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    for name, fault in book.faults.items():
        mine = belief.faults[name]
        rising = [0.0, mine.comes_and_goes, mine.probability, belief.components[fault.component], 1 - belief.unlisted]
        assert all(a <= b + CLOSE for a, b in itertools.pairwise(rising)), name


@law
@given(cases())
def test_outcomes_sum_to_one(case: Case) -> None:
    """What a check would show next sums to one, whatever was told before."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    sums = {check: math.fsum(belief.outcomes(check)) for check in book.checks}
    assert sums == pytest.approx(dict.fromkeys(sums, 1.0), abs=CLOSE)


@law
@given(cases(faults=4, steps=0), st.sets(st.integers(0, 3)))
def test_columns_sum_to_one(case: Case, standing: set[int]) -> None:
    """With the faults that stand known for sure, what a check would show still sums to one: its likelihood does."""
    book, _ = case
    pins = [a_check(f"pin-{fault}", fault, 1.0, 0.0) for fault in book.faults]
    pinned = bare_book(
        list(book.faults.values()),
        list(book.events.values()),
        list(book.symptoms.values()),
        [*book.checks.values(), *pins],
    )
    told = [plain(pinned, pin.id, "o0" if n in standing else "fine") for n, pin in enumerate(pins)]
    # Where a fault may lie asleep, it was awake when it was seen; one not seen may yet stand.
    belief = Believer(pinned, size_limit=None).believe(Evidence(tuple(told)))
    sums = {check: math.fsum(belief.outcomes(check)) for check in book.checks}
    assert sums == pytest.approx(dict.fromkeys(sums, 1.0), abs=CLOSE)


@law
@given(cases())
def test_chance_of_an_answer_is_what_was_foretold(case: Case) -> None:
    """The evidence of one more plain answer is the evidence so far times what that outcome was foretold with."""
    book, evidence = case
    believer = Believer(book, size_limit=None)
    belief = believer.believe(evidence)
    for check in book.checks.values():
        for outcome, foretold in zip(check.outcomes, belief.outcomes(check.id), strict=True):
            more = Evidence((*evidence.entries, plain(book, check.id, outcome.id)), evidence.circumstances, evidence.hours)
            if foretold > 0.0:
                gained = believer.believe(more).log2_evidence - belief.log2_evidence
                assert gained == pytest.approx(math.log2(foretold), abs=1e-7), (check.id, outcome.id)


# --------------------------------------------------------------------------------------------- order, repeats, undo


@law
@given(cases(), st.randoms(use_true_random=False))
def test_order_within_an_epoch(case: Case, rng: Random) -> None:
    """The order of what is told between two actions changes nothing."""
    book, evidence = case
    believer = Believer(book, size_limit=None)
    one = summary(book, believer.believe(evidence))
    other = summary(book, believer.believe(shuffled(evidence, rng)))
    assert one == pytest.approx(other, abs=CLOSE)


@law
@given(cases())
def test_a_symptom_said_twice(case: Case) -> None:
    """A symptom said again in the same epoch changes nothing."""
    book, evidence = case
    twice = [e for e in evidence.entries for _ in range(2 if isinstance(e, Reported | Denied) else 1)]
    again = Evidence(tuple(twice), evidence.circumstances, evidence.hours)
    believer = Believer(book, size_limit=None)
    one, other = believer.believe(evidence), believer.believe(again)
    assert summary(book, one) == pytest.approx(summary(book, other), abs=CLOSE)


@law
@given(cases())
def test_undo(case: Case) -> None:
    """After the last entry is dropped, every figure is exactly what it was before that entry came."""
    book, evidence = case
    before = Evidence(evidence.entries[:-1], evidence.circumstances, evidence.hours)
    believer = Believer(book)
    first = summary(book, believer.believe(before))
    believer.believe(evidence)
    assert summary(book, believer.believe(before)) == first


@law
@given(cases())
def test_belief_depends_on_book_and_case_alone(case: Case) -> None:
    """A believer that has seen other cases gives exactly the figures of a new one."""
    book, evidence = case
    used = Believer(book)
    for n in range(len(evidence.entries)):
        used.believe(Evidence(evidence.entries[n:][:3]))
    assert summary(book, used.believe(evidence)) == summary(book, Believer(book).believe(evidence))


@law
@given(cases())
def test_an_answer_that_tells_nothing(case: Case) -> None:
    """An answer that gives every outcome the same weight 1 changes nothing."""
    book, evidence = case
    believer = Believer(book, size_limit=None)
    one = figures(book, believer.believe(evidence))
    for check in book.checks.values():
        nothing = Answer(check.id, (1.0,) * len(check.outcomes))
        more = Evidence((*evidence.entries, nothing), evidence.circumstances, evidence.hours)
        assert figures(book, believer.believe(more)) == pytest.approx(one, abs=CLOSE)


def one_fault(prior: float, detects: float, false_alarm: float, fresh: float = 0.2, **fault: float) -> Book:
    """One fault, and one check of it."""
    check = a_check("look", "broken", detects, false_alarm, fresh=fresh)
    more = a_check("other", "broken", detects, false_alarm)
    return bare_book([a_fault("broken", prior, **fault)], checks=[check, more])


@law
@given(
    prior=st.floats(0.01, 0.9),
    detects=st.floats(0.6, 0.99),
    false_alarm=st.floats(0.01, 0.4),
    fresh=st.floats(0.05, 0.95),
    outcome=st.sampled_from(["o0", "fine"]),
)
def test_a_repeat_tells_less(prior: float, detects: float, false_alarm: float, fresh: float, outcome: str) -> None:
    """The second of two readings alike weighs less than the first, and the same way."""
    book = one_fault(prior, detects, false_alarm, fresh)
    told = plain(book, "look", outcome)
    (_, first), (_, second) = Believer(book).believe(Evidence((told, told))).weights("broken")
    assert 0.0 < second / first < 1.0


@law
@given(prior=st.floats(0.01, 0.5), share=st.floats(0.1, 0.9), shows=st.floats(0.1, 0.9))
def test_the_second_good_result_says_less(prior: float, share: float, shows: float) -> None:
    """With a mode that comes and goes, a second good result of another check clears less than the first did."""
    book = one_fault(prior, 0.95, 0.05, share=share, shows=shows)
    good = (plain(book, "look", "fine"), plain(book, "other", "fine"))
    (_, first), (_, second) = Believer(book).believe(Evidence(good)).weights("broken")
    assert first < second < 0.0


# ------------------------------------------------------------------------------------------------- weights, conflict


@law
@given(cases())
def test_weights_add_up(case: Case) -> None:
    """For every fault the weights of evidence sum to the change of its log odds."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    for fault in book.faults:
        before, now = belief.prior_log_odds(fault), belief.log_odds(fault)
        if math.isfinite(before) and math.isfinite(now):
            weights = math.fsum(bits for _, bits in belief.weights(fault))
            assert weights == pytest.approx(now - before, abs=1e-6), fault


@law
@given(cases())
def test_log_odds_are_of_the_cause_as_it_was(case: Case) -> None:
    """Log odds are those of the probability that the fault was there at the time of the squawk, in bits."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    for fault, p in belief.as_it_was.items():
        if 1e-9 < p < 1.0 - 1e-9:
            assert belief.log_odds(fault) == pytest.approx(math.log2(p / (1.0 - p)), abs=1e-6), fault


def mode_sets(book: Book) -> Iterator[tuple[float, frozenset[str], frozenset[str]]]:
    """Prior, hard modes and sleeping modes of every set, circumstances and hours at their defaults."""
    states = []
    for fault in book.faults.values():
        rate = fault.rate * book.defaults.hours / 1000 if fault.rate is not None else -math.log1p(-fault.probability)
        hard, asleep = 1 - math.exp(-rate * (1 - fault.share)), 1 - math.exp(-rate * fault.share)
        states.append([(fault.id, "absent", 1 - hard - asleep), (fault.id, "hard", hard), (fault.id, "asleep", asleep)])
    for chosen in itertools.product(*states):
        modes = {kind: frozenset(f for f, k, _ in chosen if k == kind) for kind in ("hard", "asleep")}
        yield math.prod(p for _, _, p in chosen), modes["hard"], modes["asleep"]


def subsets(items: frozenset[str]) -> Iterator[frozenset[str]]:
    for size in range(len(items) + 1):
        yield from map(frozenset, itertools.combinations(sorted(items), size))


def chance(book: Book, answer: Answer, hard: frozenset[str], asleep: frozenset[str]) -> float:
    """Chance of an answer, summed over which of the sleeping modes are awake."""
    check = book.checks[answer.check]
    total = 0.0
    for awake in subsets(asleep):
        weight = math.prod(wakes(check, book.faults[f], f in awake) for f in asleep)
        shown = hard | awake
        true = [n for n, o in enumerate(check.outcomes) if o.when and holds(book, o.when, shown)]
        column = true[0] if true else len(check.outcomes) - 1
        total += weight * sum(w * p for w, p in zip(answer.weights, reads(check, column), strict=True))
    return total


def wakes(check: Check, fault: Fault, awake: bool) -> float:
    p = 1.0 if check.about == "squawk" else 1 - (1 - fault.shows) * (1 - check.wakes)
    return p if awake else 1 - p


def reads(check: Check, true: int) -> list[float]:
    """What a check shows when ``true`` is so."""
    if check.matrix is not None:
        return [row[true] for row in check.matrix]
    last = len(check.outcomes) - 1
    good = [check.false_alarm / last] * last + [1 - check.false_alarm]
    if true == last:
        return good
    d = check.outcomes[true].detects
    return [d if n == true else (1 - d) * p / (1 - good[true]) for n, p in enumerate(good)]


@law
@given(cases(faults=4, steps=0), st.data())
def test_conflict_against_a_direct_sum(case: Case, data: st.DataObject) -> None:
    """Conflict is log2 of the answers' chances one by one over their chance together, summed over all sets."""
    book, evidence = case
    looks = [c for c in book.checks.values() if not c.proof]
    picked = data.draw(st.lists(st.sampled_from(looks), min_size=1, max_size=4, unique=True))
    answers = [unsure(book, c.id, data.draw(st.sampled_from(c.outcomes)).id) for c in picked]
    told = Evidence((*evidence.entries, *answers))
    framed, together, alone = 0.0, 0.0, [0.0] * len(answers)
    for prior, hard, asleep in mode_sets(book):
        weight = prior * math.prod(spoken(book, entry, hard | asleep) for entry in evidence.entries)
        chances = [chance(book, answer, hard, asleep) for answer in answers]
        framed, together = framed + weight, together + weight * math.prod(chances)
        alone = [a + weight * c for a, c in zip(alone, chances, strict=True)]
    expected = sum(math.log2(a / framed) for a in alone) - math.log2(together / framed)
    assert Believer(book, size_limit=None).believe(told).conflict_bits == pytest.approx(expected, abs=1e-7)


def spoken(book: Book, entry: Entry, standing: frozenset[str]) -> float:
    assert isinstance(entry, Reported | Denied)
    there = holds(book, entry.symptom, standing)
    if isinstance(entry, Reported):
        return float(there)
    return 1 - book.symptoms[entry.symptom].noticed if there else 1.0


@law
@given(cases(faults=5, steps=0), st.data())
def test_the_unlisted_cause_grows_by_the_conflict(case: Case, data: st.DataObject) -> None:
    """Short of repeats, proofs and repairs, the odds of the unlisted cause move by exactly the conflict."""
    book, evidence = case
    looks = [c for c in book.checks.values() if not c.proof]
    picked = data.draw(st.lists(st.sampled_from(looks), max_size=5, unique=True))
    answers = [plain(book, c.id, data.draw(st.sampled_from(c.outcomes)).id) for c in picked]
    believer = Believer(book, size_limit=None)
    before, after = believer.believe(evidence), believer.believe(Evidence((*evidence.entries, *answers)))
    moved = [math.log2(b.unlisted / (1 - b.unlisted)) for b in (before, after)]
    assert moved[1] - moved[0] == pytest.approx(after.conflict_bits, abs=1e-6)


# --------------------------------------------------------------------------------------------------- contradictions


def sure_book(unlisted: float) -> Book:
    """Four faults under a symptom, and checks that never err: one of each fault, one of each pair."""
    names = ["a", "b", "c", "d"]
    pairs = list(itertools.combinations(names, 2))
    events = [Event("any", "any", "any_of", tuple(names))]
    events += [Event(f"{x}-or-{y}", "", "any_of", (x, y)) for x, y in pairs]
    checks = [a_check(f"see-{name}", name, 1.0, 0.0) for name in names]
    checks += [a_check(f"see-{x}-{y}", f"{x}-or-{y}", 1.0, 0.0) for x, y in pairs]
    faults = [a_fault(name, 0.05 + 0.01 * n) for n, name in enumerate(names)]
    return bare_book(faults, events, [a_symptom("gone", "any", unlisted)], checks)


SURE = {share: sure_book(share) for share in (0.0, 0.1)}


@st.composite
def sure_answers(draw: st.DrawFn) -> tuple[Book, Evidence]:
    """Answers of checks that never err, some drawn against all sense."""
    book = SURE[draw(st.sampled_from(sorted(SURE)))]
    picked = draw(st.lists(st.sampled_from(list(book.checks)), min_size=2, max_size=8, unique=True))
    told = [plain(book, check, draw(st.sampled_from(["o0", "fine"]))) for check in picked]
    return book, Evidence((Reported("gone"), *told))


def can_be(book: Book, entries: tuple[Entry, ...]) -> bool:
    """Whether any set of the four faults agrees with sure answers and the symptom."""
    sets = list(subsets(frozenset(book.faults)))
    return any(all(agrees(book, entry, standing) for entry in entries) for standing in sets)


def agrees(book: Book, entry: Entry, standing: frozenset[str]) -> bool:
    if isinstance(entry, Reported):
        return bool(standing)
    assert isinstance(entry, Answer)
    event = book.checks[entry.check].outcomes[0].when or ""
    return holds(book, event, standing) == (entry.weights[0] == 1.0)


@law
@given(sure_answers())
def test_a_contradiction_is_said(case: Case) -> None:
    """Belief speaks of a contradiction exactly where no set of faults agrees with the answers."""
    book, evidence = case
    belief = Believer(book, size_limit=None).believe(evidence)
    assert (belief.contradiction is None) == can_be(book, evidence.entries)


@law
@given(sure_answers())
def test_a_contradiction_names_a_smallest_list(case: Case) -> None:
    """The answers named were told, cannot be together with the symptoms, and could without any one of them."""
    book, evidence = case
    contradiction = Believer(book, size_limit=None).believe(evidence).contradiction
    if contradiction is None:
        return
    named = contradiction.answers
    frame = evidence.entries[0]
    assert set(named) <= set(evidence.entries)
    assert not can_be(book, (frame, *named))
    for n in range(len(named)):
        rest = (*named[:n], *named[n + 1 :])
        assert named[n] == frame or can_be(book, (frame, *rest)), named[n]


@law
@given(sure_answers())
def test_no_nan_in_a_contradiction(case: Case) -> None:
    """Whatever contradicts what, every probability is a number between 0 and 1, and no figure is a NaN."""
    book, evidence = case
    belief = Believer(book, size_limit=None).believe(evidence)
    assert [x for x in figures(book, belief).items() if not -CLOSE <= x[1] <= 1.0 + CLOSE] == []
    bits = [bits for fault in book.faults for _, bits in belief.weights(fault)]
    odds = [odds(fault) for fault in book.faults for odds in (belief.log_odds, belief.prior_log_odds)]
    figures_in_bits = [belief.conflict_bits, belief.log2_evidence, *bits, *odds]
    assert [x for x in figures_in_bits if math.isnan(x)] == []


@law
@given(sure_answers())
def test_a_contradiction_leaves_the_unlisted_cause(case: Case) -> None:
    """Where the answers cannot be together, the unlisted cause holds all the weight if it has any."""
    book, evidence = case
    belief = Believer(book, size_limit=None).believe(evidence)
    if belief.contradiction is not None and book.symptoms["gone"].unlisted:
        assert belief.unlisted == pytest.approx(1.0, abs=CLOSE)


# ------------------------------------------------------------------------------------------------------- size limit


@law
@given(cases(faults=5))
def test_a_limit_of_all_faults_is_none(case: Case) -> None:
    """A size limit that no set exceeds leaves nothing out and changes nothing."""
    book, evidence = case
    limited, free = (Believer(book, size_limit=n).believe(evidence) for n in (len(book.faults), None))
    assert limited.left_out == 0.0
    assert summary(book, limited) == pytest.approx(summary(book, free), abs=CLOSE)


@law
@given(cases(faults=6), st.sampled_from([1, 2, 3]))
def test_left_out_is_an_upper_bound(case: Case, limit: int) -> None:
    """The probability that a larger set of faults was there is at most what belief says it left out."""
    book, evidence = case
    belief = Believer(book, size_limit=limit).believe(evidence)
    exact = Believer(counting(book, limit), size_limit=None).believe(evidence)
    if belief.contradiction is None:
        more = exact.outcomes("counted")[0] / (1.0 - exact.unlisted)
        assert more <= belief.left_out + CLOSE


def counting(book: Book, limit: int) -> Book:
    """The book with a question that never errs: were there more than ``limit`` faults?"""
    many = Event("many", "", "at_least", tuple(book.faults), limit + 1)
    counted = a_check("counted", "many", 1.0, 0.0, about="squawk", kind="ask")
    return bare_book(
        list(book.faults.values()),
        [*book.events.values(), many],
        list(book.symptoms.values()),
        [*book.checks.values(), counted],
        list(book.actions.values()),
        list(book.circumstances.values()),
    )


# --------------------------------------------------------------------------------------------------------- readings


def gauge(error: float) -> Book:
    """A reading with its limit between the two first of three outcomes."""
    reading = Reading("voltage", "V", error, "limit", "o0", "o1")
    return bare_book(
        [a_fault("low", 0.1), a_fault("high", 0.1)], checks=[a_check("gauge", ["low", "high"], 0.9, 0.02, reading=reading)]
    )


@law
@given(value=st.floats(-50, 50), limit=st.floats(-50, 50), error=st.floats(0.01, 10))
def test_a_reading_lies_on_either_side(value: float, limit: float, error: float) -> None:
    """A reading splits between the outcomes of its two sides by the normal distribution; others get none."""
    below, above, other = measured(gauge(error), "gauge", value, limit).weights
    expected = 0.5 * (1.0 + math.erf((value - limit) / error / math.sqrt(2.0)))
    assert (below, above, other) == pytest.approx((1.0 - expected, expected, 0.0), abs=1e-12)


@law
@given(value=st.floats(-50, 50), above=st.floats(0, 10))
def test_a_reading_without_error(value: float, above: float) -> None:
    """Without error a reading is on one side; at the limit it counts as above."""
    assert measured(gauge(0.0), "gauge", value + above, value).weights == (0.0, 1.0, 0.0)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("place", [0, 1])
def test_a_reading_must_be_a_number(bad: float, place: int) -> None:
    """A reading or a limit that is no finite number is refused."""
    value, limit = (bad, 1.0) if place == 0 else (1.0, bad)
    with pytest.raises(BadAnswer):
        measured(gauge(0.5), "gauge", value, limit)


ANSWERS: dict[str, Callable[[Book], Entry]] = {
    "plain": lambda book: plain(book, "look", "o0"),
    "unsure": lambda book: unsure(book, "look", "o0"),
    "found": lambda book: Found("broken"),
}


@pytest.mark.parametrize(
    ("form", "odds"),
    [("plain", 0.9 / 0.1), ("unsure", (0.8 * 0.9 + 0.2 * 0.1) / (0.8 * 0.1 + 0.2 * 0.9)), ("found", 0.99 / 0.0001)],
)
def test_odds_of_an_answer(form: str, odds: float) -> None:
    """An answer multiplies a fault's odds by the ratio of its two chances."""
    book = one_fault(0.2, 0.9, 0.1)
    p = Believer(book).believe(Evidence((ANSWERS[form](book),))).faults["broken"].probability
    assert p / (1.0 - p) == pytest.approx(0.25 * odds, rel=1e-9)
