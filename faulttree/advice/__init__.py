"""What to do next: from belief, standing conditions and what is done. Knows no case log.

``situation`` the plain data in and out; ``progress`` what is done and owed; ``advisor`` the way in.
Inside: ``eligible`` what may be proposed at all, ``rows`` the hypotheses played on, ``floor`` the cost of known work,
``job`` one job as arrays, ``tables`` costs from what stands, ``choice`` the quick rule, ``rollout`` steps played to the
end, ``early`` what is set up before it is barred, ``forecast`` what it would take from here, ``steps`` suggestions in
words, ``cautions``, ``why``.
"""

from faulttree.advice.advisor import ROUGH_CUT, Advisor
from faulttree.advice.progress import follow_ups, found_and_open, proofs_of, situation_after, standing_for
from faulttree.advice.rollout import Budget, Stopped
from faulttree.advice.situation import (
    Advice,
    Fetch,
    Figures,
    OutcomeAhead,
    Situation,
    Suggestion,
    ToGo,
    Waiting,
)

__all__ = [
    "ROUGH_CUT",
    "Advice",
    "Advisor",
    "Budget",
    "Fetch",
    "Figures",
    "OutcomeAhead",
    "Situation",
    "Stopped",
    "Suggestion",
    "ToGo",
    "Waiting",
    "follow_ups",
    "found_and_open",
    "proofs_of",
    "situation_after",
    "standing_for",
]
