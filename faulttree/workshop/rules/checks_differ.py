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

from collections.abc import Hashable, Iterator, Mapping

import numpy as np

from faulttree.book.positions import ADVICE, Problem
from faulttree.workshop.subject import Fitted, Subject

ID = "checks-differ"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Compares checks at every option: two are alike that say the same wherever both are there; legs of one differ."""
    if not subject.whole:
        return  # what is so at some options says nothing yet
    at_each = [_keys(fitted) for fitted in subject.fitted]
    # Two that differ where both are there are not alike; few are the same anywhere.
    somewhere = dict.fromkeys(pair for keys in at_each for pair in _the_same(keys))
    for first, second in somewhere:
        if all(keys[first] == keys[second] for keys in at_each if first in keys and second in keys):
            one, other = subject.written.checks[first], subject.written.checks[second]
            what = f"check `{other.id}` says the same as `{one.id}`, at {one.spots.key()}"
            yield Problem(other.spots.key(), what, "keep one of the two, or let their outcomes differ", ID)


def _the_same(keys: Mapping[str, Hashable]) -> Iterator[tuple[str, str]]:
    """The pairs of checks with the same key, each in the order of the checks."""
    alike: dict[Hashable, list[str]] = {}
    for name, key in keys.items():
        yield from ((other, name) for other in alike.setdefault(key, []))
        alike[key].append(name)


def _keys(fitted: Fitted) -> dict[str, Hashable]:
    """By check as written what its copies for the legs tell apart, and how they are done."""
    found: dict[str, tuple[Hashable, ...]] = {}
    for one, parts in zip(fitted.checks, _parts(fitted.shown), strict=True):
        key = (parts, one.kind, one.about, tuple(sorted(one.needs)), one.wakes)
        name = fitted.written("checks", one.id).id
        found[name] = (*found.get(name, ()), key)
    return dict(found)


def _parts(shown: np.ndarray) -> list[bytes]:
    """How each check of ``shown`` (n_faults + 1, n_checks) parts the faults, whatever its outcomes are called."""
    # Outcomes are named anew by the first fault that shows them.
    named = np.zeros(shown.shape, dtype=np.uint16)
    for outcome in range(int(shown.max(initial=0)) + 1):
        there = shown == outcome
        first = np.where(there.any(axis=0), there.argmax(axis=0), 0)
        np.copyto(named, first.astype(np.uint16), where=there)
    return [column.tobytes() for column in named.T]
