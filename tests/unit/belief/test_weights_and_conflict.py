"""Weights of evidence, repeats and conflict: laws on any case, and a sum over all sets of modes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from faulttree.belief import Answer, Believer, Denied, Entry, Evidence, Found, Reported, plain, unsure
from faulttree.book.model import Book, Check, Fault
from tests.support.belief_cases import Case, cases, law
from tests.support.books import fault, make_book
from tests.support.random_books import a_check, holds


def one_fault(prior: float, detects: float, false_alarm: float, fresh: float = 0.2, **more: float) -> Book:
    """One fault, and one check of it."""
    check = a_check("look", "broken", detects, false_alarm, fresh=fresh)
    other = a_check("other", "broken", detects, false_alarm)
    return make_book([fault("broken", probability=prior, **more)], checks=[check, other])


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


# ------------------------------------------------------------------------------------------------- weights, conflict


@law
@given(cases())
def test_weights_add_up(case: Case) -> None:
    """For every fault the weights of evidence sum to the change of its log odds."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    for name in book.faults:
        before, now = belief.prior_log_odds(name), belief.log_odds(name)
        if math.isfinite(before) and math.isfinite(now):
            weights = math.fsum(bits for _, bits in belief.weights(name))
            assert weights == pytest.approx(now - before, abs=1e-6), name


@law
@given(cases())
def test_log_odds_are_of_the_cause_as_it_was(case: Case) -> None:
    """Log odds are those of the probability that the fault was there at the time of the squawk, in bits."""
    book, evidence = case
    belief = Believer(book).believe(evidence)
    for name, p in belief.as_it_was.items():
        if 1e-9 < p < 1.0 - 1e-9:
            assert belief.log_odds(name) == pytest.approx(math.log2(p / (1.0 - p)), abs=1e-6), name


def mode_sets(book: Book) -> Iterator[tuple[float, frozenset[str], frozenset[str]]]:
    """Prior, hard modes and sleeping modes of every set, circumstances and hours at their defaults."""
    states = []
    for about in book.faults.values():
        rate = about.rate * book.defaults.hours / 1000 if about.rate is not None else -math.log1p(-about.probability)
        hard, asleep = 1 - math.exp(-rate * (1 - about.share)), 1 - math.exp(-rate * about.share)
        states.append([(about.id, "absent", 1 - hard - asleep), (about.id, "hard", hard), (about.id, "asleep", asleep)])
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
    assume(all(0.0 < b.unlisted < 1.0 for b in (before, after)))  # where nothing else is possible there are no odds
    moved = [math.log2(b.unlisted / (1 - b.unlisted)) for b in (before, after)]
    assert moved[1] - moved[0] == pytest.approx(after.conflict_bits, abs=1e-6)
