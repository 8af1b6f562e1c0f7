"""A seeded share of what there is plenty of, so that the suite is quick; all of it with ``FAULTTREE_SHARE=all``."""

from __future__ import annotations

import os
from collections.abc import Iterable
from random import Random
from typing import TypeVar

ALL = os.environ.get("FAULTTREE_SHARE") == "all"

T = TypeVar("T")


def share(things: Iterable[T], one_in: int, seed: str) -> list[T]:
    """One thing in so many, from a seeded place on."""
    listed = list(things)
    return listed if ALL else listed[Random(seed).randrange(one_in) :: one_in]


def many(few: int, whole: int) -> int:
    """How many of what can be made without end: ``few``, or ``whole`` where all is wanted."""
    return whole if ALL else few
