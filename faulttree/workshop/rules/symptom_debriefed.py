"""Every symptom has a question for the pilot that tells its causes apart.

A question costs a minute and touches nothing. Without one the first step is a panel or the jacks.

Passes::

    checks:
      ask-radio: {amends: true, ask: Did the radio and the lights go too?}

Fails::

    checks:
      ask-radio: {retires: true, reason: nobody remembers}
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from faulttree.book.positions import ADVICE, Problem
from faulttree.workshop.subject import Fitted, Subject

ID = "symptom-debriefed"
SEVERITY = ADVICE


def check(subject: Subject) -> Iterator[Problem]:
    """Looks for symptoms of two or more single faults that no question about the squawk tells apart."""
    for fitted, name in subject.everywhere("symptoms"):
        rows = fitted.brings[name]
        if rows.sum() > 1 and not _asked(fitted, rows):
            where = fitted.written("symptoms", name).spots.key()
            what = f"no question for the pilot tells the causes of symptom `{name}` apart"
            yield Problem(where, what, "add a check of kind `ask` about what the pilot saw, heard or did", ID)


def _asked(fitted: Fitted, rows: np.ndarray) -> bool:
    questions = [i for i, c in enumerate(fitted.checks) if c.kind == "ask" and c.about == "squawk" and c.proposed]
    shown = fitted.shown[:-1][rows][:, questions]
    return bool((shown != shown[:1]).any())
