"""Answers that cannot be true together under any listed cause: which, said plainly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

from faulttree.belief.evidence import Did, Entry, Evidence

TRIES = 400
"""How many smaller lists are tried before a list that cannot be shortened is taken as it is."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """``answers`` cannot be true together; with up to ``size_limit`` faults at once (None: any number)."""

    answers: tuple[Entry, ...]
    size_limit: int | None


def smallest_contradiction(
    evidence: Evidence, can_be: Callable[[tuple[Entry, ...]], bool], size_limit: int | None
) -> Contradiction:
    """A smallest list of entries that cannot be, given that all of them together cannot.

    First one is dropped after another as long as the rest still cannot be; then lists shorter than what is
    left are tried. Actions stay: they are not answers.
    """
    said = [i for i, entry in enumerate(evidence.entries) if not isinstance(entry, Did)]

    def impossible(chosen: frozenset[int]) -> bool:
        return not can_be(tuple(e for i, e in enumerate(evidence.entries) if i in chosen or isinstance(e, Did)))

    kept = frozenset(said)
    for i in said:
        if impossible(kept - {i}):
            kept = kept - {i}
    tries = 0
    for size in range(len(kept)):
        for chosen in combinations(said, size):
            tries += 1
            if tries > TRIES:
                return _named(evidence, kept, size_limit)
            if impossible(frozenset(chosen)):
                return _named(evidence, frozenset(chosen), size_limit)
    return _named(evidence, kept, size_limit)


def _named(evidence: Evidence, chosen: frozenset[int], size_limit: int | None) -> Contradiction:
    return Contradiction(tuple(evidence.entries[i] for i in sorted(chosen)), size_limit)
