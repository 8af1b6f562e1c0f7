"""No two checks of one kind, done in the same state of the aircraft, say the same.

The second answer is mostly the first one's error again, yet it would count as new. A quick look before a test, a test
that provokes what sleeps, or one that needs less set up is not the same.

Passes::

    checks:
      measure-bus:
        name: Measure the bus
        kind: test
        minutes: 3
        needs: [master-on]
        cautions: [hot-bus]
        outcomes:
          dead: {label: No voltage, when: bus.dead}
          live: {label: Live, otherwise: true}
        detects: 0.95
        false_alarm: 0.02
        basis: estimate

Fails::

    checks:
      stare-at-bus:
        name: Look at the bus once more
        kind: look
        minutes: 3
        needs: [master-on]
        cautions: [hot-bus]
        outcomes:
          black: {label: Black, when: bus.dead}
          fine: {label: Fine, otherwise: true}
        detects: 0.9
        false_alarm: 0.1
        basis: estimate
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np

from faulttree.book.positions import ADVICE, Problem
from faulttree.workshop.subject import Fitted, Subject

ID = "checks-differ"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Compares checks at every option: two are alike that say the same wherever both are there; legs of one differ."""
    if not subject.whole:
        return  # what is so at some options says nothing yet
    alike: dict[tuple[str, str], bool] = {}
    for fitted in subject.fitted:
        keys = _keys(fitted)
        for pair in combinations(keys, 2):
            alike[pair] = alike.get(pair, True) and keys[pair[0]] == keys[pair[1]]
    for (first, second), same in alike.items():
        if same:
            one, other = subject.written.checks[first], subject.written.checks[second]
            what = f"check `{other.id}` says the same as `{one.id}`, at {one.spots.key()}"
            yield Problem(other.spots.key(), what, "keep one of the two, or let their outcomes differ", ID)


def _keys(fitted: Fitted) -> dict[str, Any]:
    """By check as written what its copies for the legs tell apart, and how they are done."""
    found: dict[str, Any] = {}
    for column, one in enumerate(fitted.checks):
        key = (_parts(fitted.shown[:, column]), one.kind, one.about, tuple(sorted(one.needs)), one.wakes)
        found.setdefault(fitted.written("checks", one.id).id, []).append(key)
    return found


def _parts(column: np.ndarray) -> bytes:
    """How a check parts the faults, whatever its outcomes are called."""
    _, first, inverse = np.unique(column, return_index=True, return_inverse=True)
    return bytes(np.argsort(np.argsort(first))[inverse].astype(np.uint16).tobytes())
