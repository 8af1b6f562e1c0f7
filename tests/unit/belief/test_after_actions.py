"""What is said after a repair, by hand: of the aircraft as it stands then."""

from __future__ import annotations

import numpy as np
import pytest

from faulttree.belief import Answer, Believer, Denied, Did, Evidence, Reported
from faulttree.belief.frame import first_symptoms, reported_so_far
from faulttree.belief.sets import _distinct_rows
from tests.support.books import action, fault, make_book, symptom

BOOK = make_book(
    [fault("f.a", probability=0.2)],
    symptoms=[symptom("s", "f.a", noticed=0.9)],
    actions=[action("mend", "f.a", effective=0.5)],
)
"""A fifth stands beforehand, a tenth after the repair."""


def stands(*entries: Did | Denied | Reported) -> float:
    return Believer(BOOK).believe(Evidence(entries)).faults["f.a"].probability


def test_a_repair_takes_its_share_away() -> None:
    """Half of a fifth is left."""
    assert stands(Did("mend")) == pytest.approx(0.1)


def test_a_symptom_denied_after_a_repair_speaks_against_what_still_stands() -> None:
    """It would have been noticed nine times of ten."""
    assert stands(Did("mend"), Denied("s")) == pytest.approx(0.1 * 0.1 / (0.1 * 0.1 + 0.9))


def test_a_symptom_reported_after_a_repair_says_that_it_still_stands() -> None:
    """Nothing else gives it here."""
    assert stands(Did("mend"), Reported("s")) == pytest.approx(1.0)


LOG = (Reported("b"), Denied("d"), Reported("a"), Did("mend"), Reported("c"), Denied("e"), Answer("look", (1.0,)))


def test_the_squawk_of_a_proof_is_what_was_reported_before_the_last_repair() -> None:
    """What was reported since is not yet among it; each once, in order of name."""
    assert reported_so_far(LOG) == ("a", "b")
    assert reported_so_far((*LOG, Did("mend"), Reported("f"))) == ("a", "b", "c")


def test_the_first_symptoms_are_those_before_any_repair() -> None:
    """Reported and denied apart."""
    found = first_symptoms(LOG)
    assert (found.reported, found.denied) == (("a", "b"), ("d",))


@pytest.mark.parametrize("modes", [6, 3_000_000], ids=["few modes", "more than fit in one integer"])
def test_rows_alike_are_put_together(modes: int) -> None:
    """And each is told where its twin went."""
    none = np.iinfo(np.int64).max
    rows = np.array([[1, 4, none], [0, 2, 5], [1, 4, none], [1, none, none], [0, 2, 5]])
    distinct, place = _distinct_rows(rows, modes)
    assert len(distinct) == 3
    assert distinct[place].tolist() == rows.tolist()


def test_where_nothing_but_a_symptom_and_a_repair_is_known_no_answer_bears_on_the_rows() -> None:
    """What the rows weigh given symptoms and repairs alone is then what they weigh."""
    replay = Believer(BOOK).believe(Evidence((Reported("s"), Did("mend")))).replay
    assert replay.log_given - replay.log_given.max() == pytest.approx(replay.log_weight - replay.log_weight.max())
    assert len(replay.log_given) == 2


@pytest.mark.parametrize(("effective", "left"), [(0.0, 0.2), (1.0, 0.0)])
def test_a_repair_that_never_or_always_takes(effective: float, left: float) -> None:
    """All of the fifth is left, or nothing; no number goes wrong on the way."""
    made = make_book(
        [fault("f.a", probability=0.2)], symptoms=[symptom("s", "f.a")],
        actions=[action("mend", "f.a", effective=effective)],
    )  # fmt: skip
    assert Believer(made).believe(Evidence((Did("mend"),))).faults["f.a"].probability == pytest.approx(left)
