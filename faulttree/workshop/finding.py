"""Entries by what somebody may call them: their id, their name, or something like it."""

from __future__ import annotations

from collections.abc import Mapping

from rapidfuzz import fuzz, process, utils

OFFERED, ALIKE = 5, 60.0
"""So many near names are offered, each at least so like the one asked for (0 … 100)."""


def near(asked: str, names: Mapping[str, str]) -> list[str]:
    """The ids of ``names`` (id: name) that are most like what was asked for, by id or by name, the likest first."""
    words = asked[:200]
    like: dict[str, float] = {}
    for known in ({name: name for name in names}, names):
        for _, score, name in process.extract(
            words, known, scorer=fuzz.WRatio, processor=utils.default_process, limit=OFFERED, score_cutoff=ALIKE
        ):
            like[name] = max(score, like.get(name, 0.0))
    return sorted(like, key=lambda name: (-like[name], name))[:OFFERED]
