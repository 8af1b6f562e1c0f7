"""What each check shows of a fault that stands alone and is awake."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.book.model import THE_SQUAWK, Book, Check
from faulttree.graph.gates import Gates


@dataclass(frozen=True, slots=True)
class Shown:
    """``check`` has the true outcome ``outcome`` where the fault stands alone, and shows it with ``detects``.

    ``outcome`` is "" where the fault alone changes nothing, and only together with others.
    """

    check: str
    outcome: str
    detects: float


def shown_by(book: Book, gates: Gates, faults: Sequence[str]) -> dict[str, list[Shown]]:
    """By fault, the checks that look at it, in the book's order; proofs, which ask for the squawk, apart."""
    checks = [c for c in book.checks.values() if all(o.when != THE_SQUAWK for o in c.outcomes)]
    ids = list(dict.fromkeys(o.when for check in checks for o in check.outcomes if o.when))
    count = len(faults) + 1  # the last column is the sound gear
    packed = gates.truth(ids, faults, np.packbits(np.eye(len(faults), count, dtype=np.bool_), axis=1))
    holds = {name: np.unpackbits(bits)[:count].astype(np.bool_).tolist() for name, bits in packed.items()}
    below = {check.id: _below(gates, check) for check in checks}
    found: dict[str, list[Shown]] = {}
    for place, fault in enumerate(faults):
        looked = [check for check in checks if fault in below[check.id]]
        found[fault] = [_of(check, holds, place) for check in looked]
    return found


def _below(gates: Gates, check: Check) -> frozenset[str]:
    return frozenset[str]().union(*(gates.below(o.when) for o in check.outcomes if o.when))


def _of(check: Check, holds: dict[str, list[bool]], place: int) -> Shown:
    true, sound = (
        next(n for n, o in enumerate(check.outcomes) if not o.when or holds[o.when][column]) for column in (place, -1)
    )
    if true == sound:
        return Shown(check.id, "", 0.0)
    detects = check.matrix[true][true] if check.matrix is not None else check.outcomes[true].detects
    return Shown(check.id, check.outcomes[true].id, detects)
