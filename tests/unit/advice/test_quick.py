"""The quick choice on small jobs, against what can be worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from faulttree.advice import Advisor, Figures, Situation
from faulttree.advice.floor import Floor
from faulttree.advice.job import entropy
from faulttree.belief import Believer, Evidence, Reported, plain
from faulttree.book.model import Book
from faulttree.conditions import Moves
from tests.support.small_family import small_book


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def advise(book: Book, *answers: tuple[str, str], situation: Situation | None = None) -> list[str]:
    entries = (Reported("stays-down"), *(plain(book, check, outcome) for check, outcome in answers))
    advice = Advisor(book).advise(Believer(book).believe(Evidence(entries)), situation or Situation())
    return [suggestion.id for suggestion in advice.suggestions]


def test_a_question_comes_before_the_jacks(book: Book) -> None:
    """A minute of asking is cheaper for its bits than an hour of setting up (common practice, no source)."""
    assert advise(book)[0] == "motor-sound"


def test_a_cause_as_good_as_found_is_repaired(book: Book) -> None:
    """With the lead caught jumping the next step is to mend it."""
    assert advise(book, ("motor-sound", "silent"), ("switch-continuity", "jumps"))[0] == "mend-lead"


def test_what_is_done_is_not_proposed_again(book: Book) -> None:
    """A check done in this epoch is not among the suggestions."""
    done = Situation(done=frozenset({"motor-sound"}))
    assert "motor-sound" not in advise(book, ("motor-sound", "silent"), situation=done)


def test_owed_follow_ups_come_first(book: Book) -> None:
    """Whatever pays most, what is due after a repair comes before it."""
    assert advise(book, situation=Situation(owed=("cycle-test",), acted=True))[0] == "cycle-test"


def test_lacking_equipment_bars_the_step(book: Book) -> None:
    """Without a meter the continuity check is not offered."""
    assert "switch-continuity" not in advise(book, situation=Situation(lacking=frozenset({"multimeter"})))


def test_help_leads_where_it_is_cheap(book: Book) -> None:
    """A specialist for ten minutes is called at once."""
    figures = Figures(care=10, wait_weight=0.1, help=10, comeback=10)
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    assert Advisor(book, figures).advise(belief, Situation()).suggestions[0].kind == "help"


def test_the_cost_of_known_work_is_the_sum_of_its_moves(book: Book) -> None:
    """Mending the lead from wheels: set up, mend, prove, put all back, minute by minute, plus care for the hazards."""
    moves, figures = Moves(book.conditions), Figures(care=10, wait_weight=0.1, help=960, comeback=960)
    first = moves.move(frozenset(), book.actions["mend-lead"].needs)
    second = moves.move(first.after, book.checks["cycle-test"].needs)
    last = moves.restore_all(second.after)
    by_hand = first.minutes + 60 + second.minutes + 30 + last.minutes + 10 * (first.hazards + second.hazards)
    floor = Floor(book, moves, figures, ("cycle-test",))
    assert floor.of_plan(frozenset(), frozenset({"mend-lead"})) == pytest.approx(by_hand)


def test_suggestions_stand_best_first(book: Book) -> None:
    """Expected minutes rise down the list, help apart, and the first saves what the second costs more."""
    belief = Believer(book).believe(Evidence((Reported("stays-down"),)))
    ranked = [s for s in Advisor(book).advise(belief, Situation()).suggestions if s.kind != "help"]
    minutes = [s.expected_minutes for s in ranked]
    assert minutes == sorted(minutes)
    assert ranked[0].saves_minutes == pytest.approx(minutes[1] - minutes[0])


def test_entropy_of_even_chances_is_the_log_of_their_number() -> None:
    """Four even chances are two bits (Shannon, 1948)."""
    assert entropy(np.array([0.25, 0.25, 0.25, 0.25])) == pytest.approx(2.0)
