"""Answers that cannot be true together: said, named as a smallest list, and never a NaN."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.belief import Answer, Belief, Believer, Entry, Evidence, Reported, plain
from faulttree.belief.contradiction import TRIES, smallest_contradiction
from faulttree.book.model import Book, Event
from tests.support.belief_cases import CLOSE, Case, figures, law
from tests.support.books import fault, make_book, symptom
from tests.support.random_books import a_check, holds


def sure_book(unlisted: float) -> Book:
    """Four faults under a symptom, and checks that never err: one of each fault, one of each pair."""
    names = ["a", "b", "c", "d"]
    pairs = list(itertools.combinations(names, 2))
    events = [Event("any", "any", "any_of", tuple(names))]
    events += [Event(f"{x}-or-{y}", "", "any_of", (x, y)) for x, y in pairs]
    checks = [a_check(f"see-{name}", name, 1.0, 0.0) for name in names]
    checks += [a_check(f"see-{x}-{y}", f"{x}-or-{y}", 1.0, 0.0) for x, y in pairs]
    faults = [fault(name, probability=0.05 + 0.01 * n) for n, name in enumerate(names)]
    return make_book(faults, events, [symptom("gone", "any", unlisted=unlisted)], checks)


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
    sets = (frozenset(c) for n in range(len(book.faults) + 1) for c in itertools.combinations(book.faults, n))
    return any(all(agrees(book, entry, standing) for entry in entries) for standing in sets)


def agrees(book: Book, entry: Entry, standing: frozenset[str]) -> bool:
    if isinstance(entry, Reported):
        return bool(standing)
    assert isinstance(entry, Answer)
    event = book.checks[entry.check].outcomes[0].when or ""
    return holds(book, event, standing) == (entry.weights[0] == 1.0)


def no_nan(book: Book, belief: Belief) -> list[float]:
    """Figures in bits that are a NaN, and probabilities that are none."""
    odds = [odds(fault) for fault in book.faults for odds in (belief.log_odds, belief.prior_log_odds)]
    bits = [bits for fault in book.faults for _, bits in belief.weights(fault)]
    in_bits = [belief.conflict_bits, belief.log2_evidence, belief.left_out, *odds, *bits]
    wrong = [p for p in figures(book, belief).values() if not 0.0 <= p <= 1.0]
    return [x for x in in_bits if x is not None and math.isnan(x)] + wrong


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
    """What is named was told and cannot be together, and nothing shorter that was told, symptom or answer, cannot."""
    book, evidence = case
    contradiction = Believer(book, size_limit=None).believe(evidence).contradiction
    if contradiction is None:
        return
    named = contradiction.answers
    shorter = itertools.combinations(evidence.entries, len(named) - 1)
    assert set(named) <= set(evidence.entries)
    assert (can_be(book, named), all(can_be(book, entries) for entries in shorter)) == (False, True)


@law
@given(sure_answers())
def test_no_nan_in_a_contradiction(case: Case) -> None:
    """Whatever contradicts what, every probability is a number between 0 and 1, and no figure is a NaN."""
    book, evidence = case
    belief = Believer(book, size_limit=None).believe(evidence)
    assert no_nan(book, belief) == []


@law
@given(sure_answers())
def test_a_contradiction_leaves_the_unlisted_cause(case: Case) -> None:
    """Where the answers cannot be together, the unlisted cause holds all the weight if it has any."""
    book, evidence = case
    belief = Believer(book, size_limit=None).believe(evidence)
    if belief.contradiction is not None and book.symptoms["gone"].unlisted:
        assert belief.unlisted == pytest.approx(1.0, abs=CLOSE)


# ------------------------------------------------------------------------------------------------- odd but legal books


def excluding_book(unlisted: float) -> Book:
    """Two symptoms of which one is there exactly when the other is not."""
    events = [Event("on", "on", "any_of", ("a",)), Event("off", "off", "not", ("a",))]
    symptoms = [symptom("lit", "on", unlisted=unlisted), symptom("dark", "off", unlisted=unlisted)]
    return make_book(
        [fault("a", probability=0.1), fault("b", probability=0.2)], events, symptoms, [a_check("look", "b", 0.9, 0.05)]
    )


@pytest.mark.parametrize("unlisted", [0.0, 0.1])
def test_symptoms_that_cannot_be_together(unlisted: float) -> None:
    """Two symptoms that exclude each other are named, and no figure is a NaN."""
    book = excluding_book(unlisted)
    told = (Reported("lit"), Reported("dark"))
    belief = Believer(book, size_limit=None).believe(Evidence((*told, plain(book, "look", "o0"))))
    assert belief.contradiction is not None
    assert (set(belief.contradiction.answers), no_nan(book, belief)) == (set(told), [])


@pytest.mark.parametrize("unlisted", [0.0, 0.1])
def test_an_answer_that_is_never_shown(unlisted: float) -> None:
    """An outcome that its check cannot show, when shown, is named as what cannot be, and no figure is a NaN."""
    events = [Event("any", "any", "any_of", ("a", "b"))]
    check = a_check("blind", "a", 0.0, 0.0)
    book = make_book(
        [fault("a", probability=0.1), fault("b", probability=0.2)],
        events,
        [symptom("gone", "any", unlisted=unlisted)],
        [check],
    )
    answer = plain(book, "blind", "o0")
    belief = Believer(book, size_limit=None).believe(Evidence((Reported("gone"), answer)))
    assert belief.contradiction is not None
    assert (belief.contradiction.answers, no_nan(book, belief)) == ((answer,), [])


def test_a_symptom_that_is_always_unlisted() -> None:
    """A symptom of which no listed cause is ever said to be behind leaves them the least weight that is kept: 1e-12."""
    book = sure_book(1.0)
    belief = Believer(book, size_limit=None).believe(Evidence((Reported("gone"), plain(book, "see-a", "fine"))))
    assert (belief.unlisted, no_nan(book, belief)) == (pytest.approx(1.0, abs=1e-11), [])


def test_the_search_for_a_smaller_list_is_given_up_in_time() -> None:
    """Of twenty answers no ten can be true together: a list that is hard to shorten is taken after so many tries."""
    told = Evidence(tuple(Answer(f"c{number}", (1.0,)) for number in range(20)))
    asked: list[int] = []

    def fewer_than_ten(entries: tuple[Entry, ...]) -> bool:
        asked.append(len(entries))
        return len(entries) < 10

    assert len(smallest_contradiction(told, fewer_than_ten, 3).answers) == 10
    assert len(asked) == len(told.entries) + TRIES
