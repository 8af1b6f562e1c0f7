"""Clauses that speak of something else than a symptom, or say outright that it was not so.

What all phrases teach goes by likeness, and the two ways of travel, or a horn and a motor that will not stop, are told
in much the same words. So the book says of a symptom by which words a clause speaks of it, by which of something else,
and which words by themselves say that all is well there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from faulttree.squawk.words import FINE, IDLE, NOT, Vocabulary, in_order, says_well, stem, words_of

PRAISE = frozenset(stem(word) for word in FINE) | {"gear"}
"""What a clause may hold beside the way of travel that it calls fine."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the book says of a symptom beside its phrases."""

    denied_by: tuple[str, ...] = ()
    speaks_of: tuple[str, ...] = ()
    not_of: tuple[str, ...] = ()


class Aside:
    """Which symptoms a clause leaves alone, and which it denies outright."""

    def __init__(self, told: Mapping[str, Told], vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        self._own = {s: _heads(one.speaks_of) for s, one in told.items()}
        self._others = {s: _heads(one.not_of) for s, one in told.items()}
        self._denials = {s: [self._words(phrase) for phrase in one.denied_by] for s, one in told.items()}

    def elsewhere(self, clause: str) -> frozenset[str]:
        """Symptoms that the clause does not speak of, since it speaks of another way or part."""
        said = self._stems(clause)
        return frozenset(s for s, others in self._others.items() if said & others and not said & self._own[s])

    def denied(self, clause: str) -> frozenset[str]:
        """Symptoms that the clause denies: by the book's words for it, or since it calls their way of travel fine."""
        words, said = self._words(clause), self._stems(clause)
        found = {s for s, denials in self._denials.items() if any(_is_said(one, words) for one in denials)}
        if says_well(clause):
            things = said - PRAISE
            found |= {s for s, own in self._own.items() if things and things <= own}
        return frozenset(found)

    def _words(self, text: str) -> list[str]:
        """All words of a clause, the idle ones too: "breaker in" has to keep its "in"."""
        return words_of(self._vocabulary.plain(text))

    def _stems(self, clause: str) -> frozenset[str]:
        return frozenset(in_order(self._vocabulary.plain(clause)))


def _is_said(denial: Sequence[str], words: Sequence[str]) -> bool:
    """Whether a clause is these words in their order with nothing but idle ones beside them, no refusal of its own."""
    left = iter(words)
    if not all(any(word == one for one in left) for word in denial):
        return False
    beside = [word for word in words if word not in denial]
    return NOT not in beside and all(word in IDLE for word in beside)


def _heads(words: Sequence[str]) -> frozenset[str]:
    """Words as the vocabulary puts them, as stems."""
    return frozenset(stem(word.replace("-", "")) for word in words)
