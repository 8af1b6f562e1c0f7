"""What to do next: from belief, standing conditions and what is done. Knows no case log.

``situation`` the plain data in and out; ``progress`` what is done and owed; ``play`` the rows it plays on; ``floor``
the cost of known work; ``hypotheses`` rows grouped by what would be done about them; ``quick`` the choice;
``cautions`` what a step must show first; ``why`` the reason in words.
"""

from faulttree.advice.progress import follow_ups, proofs_of, situation_after
from faulttree.advice.quick import Advisor
from faulttree.advice.situation import Advice, Figures, OutcomeAhead, Situation, Suggestion, ToGo

__all__ = [
    "Advice",
    "Advisor",
    "Figures",
    "OutcomeAhead",
    "Situation",
    "Suggestion",
    "ToGo",
    "follow_ups",
    "proofs_of",
    "situation_after",
]
