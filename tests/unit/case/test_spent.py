"""How long a case has been worked."""

from __future__ import annotations

import pytest

from faulttree.case import CaseEntry, minutes_spent


def log(*moments: tuple[str, str]) -> list[CaseEntry]:
    return [
        CaseEntry(n, f"2026-03-01T{at}:00+00:00" if at else "", "m", kind, {}) for n, (at, kind) in enumerate(moments)
    ]


@pytest.mark.parametrize(
    ("moments", "minutes"),
    [
        ([("10:00", "opened"), ("10:05", "squawk"), ("10:25", "answer")], 25.0),
        ([("10:00", "opened"), ("10:05", "answer"), ("13:00", "stands"), ("13:10", "answer")], 15.0),
        ([("10:00", "opened"), ("17:00", "answer")], 0.0),
        ([("10:00", "opened"), ("09:50", "answer"), ("10:00", "note")], 10.0),
        ([("10:00", "opened"), ("14:00", "answer")], 240.0),
        ([("10:00", "opened"), ("14:01", "answer")], 0.0),
        ([("10:00", "opened"), ("", "answer"), ("10:10", "answer")], 0.0),
        ([("", "opened"), ("", "answer")], 0.0),
        ([], 0.0),
    ],
    ids=["worked on", "lay in between", "seven hours without a word", "clock set back", "four hours",
         "a minute more", "no clock in between", "no clock", "empty"],
)  # fmt: skip
def test_minutes_between_entries_are_added(moments: list[tuple[str, str]], minutes: float) -> None:
    """But for those in which the case lay."""
    assert minutes_spent(log(*moments)) == minutes
