"""What was worked out last is kept, so many values and so much of them."""

from __future__ import annotations

from faulttree.kept import Latest


def filled(kept: Latest[str, str], *values: str) -> list[str]:
    for value in values:
        kept.put(value, value)
    return list(kept)


def test_the_oldest_goes_first() -> None:
    assert filled(Latest(2), "a", "b", "c") == ["b", "c"]


def test_what_is_asked_for_is_the_latest() -> None:
    kept = Latest[str, str](2)
    filled(kept, "a", "b")
    kept.get("a")
    assert filled(kept, "c") == ["a", "c"]


def test_fewer_are_kept_where_they_are_large() -> None:
    assert filled(Latest(9, len, 6), "aaa", "bb", "cc", "dd") == ["bb", "cc", "dd"]


def test_what_is_at_hand_is_kept_however_large() -> None:
    assert filled(Latest(9, len, 1), "aaa", "bbb", "ccc") == ["bbb", "ccc"]


def test_what_is_taken_out_is_gone() -> None:
    kept = Latest[str, str](2)
    filled(kept, "a")
    assert (kept.pop("a"), kept.get("a")) == ("a", None)


def test_all_can_be_let_go() -> None:
    kept = Latest[str, str](2)
    filled(kept, "a", "b")
    kept.clear()
    assert list(kept) == []
