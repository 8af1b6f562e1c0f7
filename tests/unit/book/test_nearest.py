"""The nearest known name."""

from __future__ import annotations

import difflib
from random import Random

import pytest

from faulttree.book.nearest import did_you_mean, listed, nearest


@pytest.mark.parametrize(
    ("name", "found"), [("wett", "wet"), ("cold-soak", "cold-soaked"), ("zzz", None), ("", None), ("w" * 500, None)]
)
def test_nearest(name: str, found: str | None) -> None:
    """A near name is found; with none near, or an absurdly long one, there is none."""
    assert nearest(name, ["wet", "cold-soaked", "frozen"]) == found


def test_it_is_the_one_that_a_full_comparison_finds() -> None:
    """What takes out the unlikely ones beforehand takes out no likely one."""
    rng = Random(1)
    words = ["".join(rng.choices("abcde-", k=rng.randint(1, 12))) for _ in range(400)]
    full = [difflib.get_close_matches(word, words[100:140], n=1, cutoff=0.6) for word in words]
    assert [nearest(word, words[100:140]) for word in words] == [found[0] if found else None for found in full]


def test_without_a_near_name_other_words_serve() -> None:
    """The remedy falls back to what the caller says."""
    assert (did_you_mean("wett", ["wet"], "x"), did_you_mean("zzz", ["wet"], "x")) == ("did you mean `wet`?", "x")


def test_lists_are_cut_short() -> None:
    """Of many names some are shown, with the count of the rest; of none that is said."""
    assert listed([str(n) for n in range(14)]).endswith("10, 11 and 2 more")
    assert listed([]) == "none"
