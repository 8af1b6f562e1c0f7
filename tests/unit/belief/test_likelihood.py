"""How likely a check shows something, by hand: its matrix, and the urn of repeated readings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from faulttree.belief import Answer, plain, unsure
from faulttree.belief.likelihood import Urn, matrix
from faulttree.book.model import Defaults
from faulttree.errors import BadAnswer, UnknownName
from tests.support.books import check, fault, make_book

LOOK = replace(check("look", bent="a", broken="b"), false_alarm=0.1)
"""Two outcomes that are seen 95 times of 100, and ``fine``."""


def test_a_sound_gear_shows_a_wrong_outcome_by_false_alarm_spread_evenly() -> None:
    """A tenth over two."""
    assert matrix(LOOK)[:, 2] == pytest.approx([0.05, 0.05, 0.9])


def test_what_is_missed_reads_as_a_sound_gear_would() -> None:
    """Given that it does not read as what it is: 0.05 of it, over 0.05 and 0.9."""
    assert matrix(LOOK)[:, 0] == pytest.approx([0.95, 0.05 * 0.05 / 0.95, 0.05 * 0.9 / 0.95])
    assert matrix(LOOK)[:, 1] == pytest.approx([0.05 * 0.05 / 0.95, 0.95, 0.05 * 0.9 / 0.95])


def test_a_matrix_that_the_check_states_is_taken_as_it_is() -> None:
    """Rows by what is shown."""
    rows = ((0.8, 0.1), (0.2, 0.9))
    assert matrix(replace(check("look", bad="a"), matrix=rows)).tolist() == [list(row) for row in rows]


def test_a_first_reading_shows_what_its_matrix_says() -> None:
    """Whatever is fresh."""
    urn = Urn(0.2, 2)
    urn.add((1.0, 0.0))
    assert urn.probability(np.array([[0.7, 0.3]])) == pytest.approx([0.7])


def test_a_second_reading_mostly_repeats_the_first() -> None:
    """A fifth is fresh, a = 0.25: the same comes with (0.25 x 0.7 + 1) / 1.25, the other with 0.25 x 0.3 / 1.25."""
    for second, factor in (((1.0, 0.0), (0.25 * 0.7 + 1.0) / 1.25), ((0.0, 1.0), 0.25 * 0.3 / 1.25)):
        urn = Urn(0.2, 2)
        urn.add((1.0, 0.0))
        urn.add(second)
        assert urn.probability(np.array([[0.7, 0.3]])) == pytest.approx([0.7 * factor])


def test_a_soft_reading_is_the_sum_over_what_it_may_have_shown() -> None:
    """Two of them: every pair of outcomes with its weights, by hand."""
    urn = Urn(0.2, 2)
    urn.add((0.8, 0.2))
    urn.add((0.6, 0.4))
    same, other = (0.25 * 0.7 + 1.0) / 1.25, 0.25 * 0.3 / 1.25
    back, again = 0.25 * 0.7 / 1.25, (0.25 * 0.3 + 1.0) / 1.25
    by_hand = 0.7 * 0.8 * (0.6 * same + 0.4 * other) + 0.3 * 0.2 * (0.6 * back + 0.4 * again)
    assert urn.probability(np.array([[0.7, 0.3]])) == pytest.approx([by_hand])


def test_the_bound_of_a_repeat_is_met_by_the_set_that_shows_it_most() -> None:
    """And it never passes the weights given."""
    urn = Urn(0.2, 2)
    urn.add((1.0, 0.0))
    assert urn.most_next([0.7, 0.3], (1.0, 0.0)) == pytest.approx((0.25 * 0.7 + 1.0) / 1.25)
    assert urn.most_next([0.7, 0.3], (0.0, 1.0)) == pytest.approx(0.25 * 0.3 / 1.25)
    assert urn.most_next([1.0, 1.0], (0.5, 0.0)) == pytest.approx(0.5)


def test_a_copy_of_an_urn_is_filled_by_itself() -> None:
    """What is added to it leaves the first as it was."""
    urn = Urn(0.2, 2)
    urn.add((1.0, 0.0))
    twin = urn.copy()
    twin.add((1.0, 0.0))
    assert (urn.readings, twin.readings) == (1, 2)
    assert urn.probability(np.array([[0.7, 0.3]])) == pytest.approx([0.7])


BOOK = make_book([fault("a"), fault("b")], checks=[LOOK], defaults=Defaults(not_sure=0.8))


def test_a_plain_answer_weighs_on_its_outcome_alone() -> None:
    """All of it."""
    assert plain(BOOK, "look", "broken") == Answer("look", (0.0, 1.0, 0.0))


def test_whoever_is_not_sure_spreads_the_rest_over_the_other_outcomes() -> None:
    """A fifth over two."""
    assert unsure(BOOK, "look", "broken").weights == pytest.approx((0.1, 0.8, 0.1))


def test_an_answer_names_a_check_and_an_outcome_of_the_book() -> None:
    """Or is refused by the name."""
    with pytest.raises(UnknownName, match="no check 'gone'"):
        plain(BOOK, "gone", "broken")
    with pytest.raises(BadAnswer, match="look has no outcome 'gone'; it has: bent, broken, fine"):
        plain(BOOK, "look", "gone")
