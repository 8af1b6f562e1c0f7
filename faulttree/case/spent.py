"""How long a case has been worked, by the clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from faulttree.case.entries import CaseEntry

LONGEST_STEP = 4 * 60.0
"""Minutes without an entry after which nobody can be taken to have worked on: a night, a day at another aircraft."""

TAKEN_UP = ("stands", "found-standing", "taken-up", "knowledge")
"""Entries with which somebody comes back to a case: until then it lay."""


def minutes_spent(entries: Sequence[CaseEntry]) -> float:
    """Minutes between the entries, those left out in which the case lay; a clock set back takes nothing away."""
    spent = 0.0
    for one, other in pairwise(entries):
        if other.kind not in TAKEN_UP and one.at and other.at:
            minutes = (datetime.fromisoformat(other.at) - datetime.fromisoformat(one.at)).total_seconds() / 60.0
            spent += minutes if 0.0 < minutes <= LONGEST_STEP else 0.0
    return spent
