"""What the advice asks first of a squawk, and how a cause reads there if it alone is behind it.

A cause that is tied to a squawk alone reads as a sound gear in every check but its own. The first honest answer of the
pilot then speaks against it, so a lead has to be asked what these checks show with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.advice import Advisor, proofs_of, situation_after
from faulttree.belief import Believer, Evidence, Reported, plain
from faulttree.belief import Entry as BeliefEntry
from faulttree.belief.likelihood import matrix
from faulttree.book.legs import without_leg
from faulttree.book.model import Book, Check
from faulttree.workshop.testability import outcomes_alone, telling

STEPS, BESIDE, SETS = 8, 2, 2
"""Steps that are walked; ways to go on that are looked at in each, as the advice played to the end may take the second
first; faults taken to be there at once, as where regression cases are run."""

LEAST_BITS = 0.3
"""Evidence against a cause, in bits, that an answer has to bring on the average to be worth a question about it."""


@dataclass(frozen=True, slots=True)
class Met:
    """A check that the advice comes to early. ``shown`` is the place of the outcome that the cause alone brings about,
    ``likely`` of the one that is likeliest beside it; ``chance`` is that of ``shown``, whatever is behind the squawk,
    ``bits`` the evidence that the answer to be expected of all
    causes together brings against this one, on the average."""

    check: Check
    shown: int
    likely: int
    chance: float
    bits: float

    @property
    def as_sound(self) -> bool:
        """Whether the cause reads as a sound gear does."""
        return self.shown == len(self.check.outcomes) - 1

    @property
    def against(self) -> bool:
        """Whether the answer that is to be expected speaks against the cause."""
        return self.as_sound and self.bits >= LEAST_BITS


class Walker:
    """Walks the quick advice of one book from a squawk, as it goes where ``fault`` alone is behind it."""

    def __init__(self, book: Book, fault: str) -> None:
        self.book, self.fault = book, fault
        self.believer, self._advisor = Believer(book, SETS), Advisor(book)
        checks = telling(book)
        row = outcomes_alone(book, [fault], checks)[0]
        self._shown = {check.id: int(place) for check, place in zip(checks, row, strict=True)}
        self._walked: dict[str, list[Met]] = {}

    def met(self, symptom: str) -> Sequence[Met]:
        """The checks that the advice comes to, in order, until it repairs or the cause has shown itself by itself."""
        if symptom not in self._walked:
            self._walked[symptom] = self._walk(symptom)
        return self._walked[symptom]

    def _walk(self, symptom: str) -> list[Met]:
        found: dict[str, Met] = {}
        entries: list[BeliefEntry] = [Reported(symptom)]
        for _ in range(STEPS):
            belief = self.believer.believe(Evidence(tuple(entries)))
            situation = situation_after(self.book, entries, proofs_of(self.book, [symptom]))
            ways = self._advisor.advise(belief, situation, ahead=False).suggestions[:BESIDE]
            for way in ways:
                if way.id in self._shown and way.id not in found and self._of_its_leg(way.id):
                    found[way.id] = self._judged(self.book.checks[way.id], [o.probability for o in way.outcomes])
            if ways[0].id not in self._shown:
                break
            check = self.book.checks[ways[0].id]
            entries.append(plain(self.book, check.id, check.outcomes[self._shown[check.id]].id))
        return list(found.values())

    def _of_its_leg(self, check: str) -> bool:
        """A look at another leg reads as sound, and rightly so."""
        own, leg = without_leg(self.fault)[1], self.book.checks[check].leg
        return own is None or leg is None or own == leg

    def _judged(self, check: Check, chances: Sequence[float]) -> Met:
        """``chances`` are those of each outcome, whatever is behind the squawk."""
        shown = self._shown[check.id]
        expected, own = np.maximum(chances, 1e-9), np.maximum(matrix(check)[:, shown], 1e-9)
        bits = float(np.sum(expected * np.log2(expected / own)))
        others = [chance if place != shown else -1.0 for place, chance in enumerate(chances)]
        return Met(check, shown, int(np.argmax(others)), float(chances[shown]), max(bits, 0.0))
