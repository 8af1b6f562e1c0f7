"""Belief: which faults stand, given the symptoms, the answers and what has been repaired.

``evidence`` what a case tells; ``priors`` and ``likelihood`` the numbers that go in; ``space`` the faults reached
and events over their subsets; ``sets`` sets of fault modes; ``frame`` the sets that give the symptoms; ``replay``
the answers taken one by one; ``believer`` the result; ``contradiction`` answers that cannot be true together.
Nothing here knows of costs or logs.
"""

from faulttree.belief.believer import Belief, Believer, FaultBelief
from faulttree.belief.contradiction import Contradiction
from faulttree.belief.evidence import (
    Answer,
    Denied,
    Did,
    Entry,
    Evidence,
    Found,
    Reported,
    measured,
    plain,
    unsure,
)

__all__ = [
    "Answer",
    "Belief",
    "Believer",
    "Contradiction",
    "Denied",
    "Did",
    "Entry",
    "Evidence",
    "FaultBelief",
    "Found",
    "Reported",
    "measured",
    "plain",
    "unsure",
]
