"""What advice leaves out where nobody asks for it: everything else stays as it is."""

from __future__ import annotations

import pytest

from faulttree.advice import Advice, Advisor
from faulttree.belief import Believer
from faulttree.book import read_cases
from faulttree.workshop.regression import evidence_of, situation_of
from tests.jobs.run import FAMILY, ROOT, shipped_book

EACH = 12
"""Every so many cases of the book are looked at."""


@pytest.fixture(scope="module")
def advised() -> list[tuple[Advice, Advice, Advice]]:
    """For some cases of the book the advice whole, without words, and without words and leader."""
    book = shipped_book()
    believer, advisor = Believer(book), Advisor(book)
    found = []
    for case in [case for case in read_cases([ROOT / "knowledge"], FAMILY).cases if not case.fitted][::EACH]:
        evidence = evidence_of(book, case)
        belief, situation = believer.believe(evidence), situation_of(book, advisor, case, evidence)
        ways: tuple[dict[str, bool], ...] = ({}, {"words": False}, {"words": False, "leader": False})
        whole, wordless, leaderless = (advisor.advise(belief, situation, ahead=False, **way) for way in ways)
        found.append((whole, wordless, leaderless))
    return found


def test_without_words_the_steps_are_the_same(advised: list[tuple[Advice, Advice, Advice]]) -> None:
    """In the same order, at the same minutes, with the same cautions."""
    for whole, wordless, _ in advised:
        told = [[(s.id, s.expected_minutes, s.cautions) for s in advice.suggestions] for advice in (whole, wordless)]
        assert told[0] == told[1]


def test_without_a_leader_the_same_steps_are_offered(advised: list[tuple[Advice, Advice, Advice]]) -> None:
    """Which comes first may differ, not what there is, nor its cautions."""
    for whole, _, leaderless in advised:
        told = [sorted((s.id, s.cautions) for s in advice.suggestions) for advice in (whole, leaderless)]
        assert told[0] == told[1]


def test_the_leader_is_looked_for_where_it_counts(advised: list[tuple[Advice, Advice, Advice]]) -> None:
    """Some case leads with a repair that the estimates alone would not have put first."""
    assert any(whole.suggestions[0].id != leaderless.suggestions[0].id for whole, _, leaderless in advised)
