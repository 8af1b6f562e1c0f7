"""The answer without which the others fit best."""

from __future__ import annotations

import pytest

from faulttree.belief import Believer, Evidence, Reported, plain
from tests.support.small_family import small_book


@pytest.mark.parametrize("place", [0, 1, 2])
def test_the_conflict_without_it_is_that_of_the_others(place: int) -> None:
    """Wherever it stands among them (Jensen and others, 1991), and less than without any other."""
    book = small_book()
    answers = [plain(book, "switch-continuity", "open"), plain(book, "switch-continuity", "open")]
    answers.insert(place, plain(book, "motor-sound", "hummed"))
    told, without = (Reported("stays-down"), *answers), {}
    for i, entry in enumerate(told[1:], 1):
        rest = Believer(book).believe(Evidence(told[:i] + told[i + 1 :]))
        without[entry] = min(rest.conflict_bits or 0.0, without.get(entry, 9.0))
    entry, conflict = Believer(book).believe(Evidence(told)).odd_one_out or (None, 0.0)
    assert entry == answers[place]
    assert conflict == pytest.approx(without[answers[place]])
    assert conflict == min(without.values())
