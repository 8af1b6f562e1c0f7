"""How much a clause has in common with a symptom's phrases, and whether it says the opposite.

Stems weigh by how few symptoms share them (inverse document frequency, Sparck Jones 1972), and a clause scores by the
F-measure of the weight that it and a phrase have in common. Misspelt words count by their likeness (rapidfuzz).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from faulttree.squawk.words import FINE, NOT, Vocabulary, clauses, says_well, stem, stems

WEIGHT_OF_NOT = 0.6
WEIGHT_OF_STRANGER = 0.5
ALIKE = 82.0
MISSPELT = 0.9
LONG_ENOUGH = 4
"""Letters of a stem from which on it may be a misspelt one."""

KEPT = 8
"""Clauses of which the misspelt words and likenesses are kept: one is compared with every phrase in turn."""

OPPOSITE = 0.45
"""A clause that refuses where the phrase does not, or the other way round, keeps this share of its score."""

HALF = 0.5
"""How much of what a phrase speaks of, its refusal left out, has to be heard for it to count at all."""

REFUSED = 0.45
"""How alike a clause without its refusal must be to a complaint that has none, to deny it."""

DENIES = 0.6
"""How much of a complaint must be said, its refusal left out, to deny it; or of a thing's phrases must name it."""


class Phrases:
    """The book's phrases as stems, with the weight of each stem."""

    def __init__(self, phrases: Mapping[str, Sequence[str]], vocabulary: Vocabulary) -> None:
        self._phrases = {
            symptom: [found for phrase in said if (found := stems(vocabulary.plain(_complained(phrase))))]
            for symptom, said in phrases.items()
        }
        words = [frozenset[str]().union(*phrases) for phrases in self._phrases.values()]
        every = frozenset[str]().union(*words)
        spread = {one: sum(one in of_one for of_one in words) for one in every}
        self._weights = {one: math.log((len(words) + 1.0) / (n + 0.5)) + 0.1 for one, n in spread.items()}
        self._weights[NOT] = WEIGHT_OF_NOT
        self._long = sorted(one for one in every if len(one) >= LONG_ENOUGH)
        self._misspelt: dict[frozenset[str], dict[str, list[tuple[float, str]]]] = {}
        self._of_phrase: dict[frozenset[str], tuple[frozenset[str], float, float]] = {}
        self._likeness: dict[frozenset[str], dict[frozenset[str], float]] = {}

    def score(self, symptom: str, clause: frozenset[str]) -> float:
        """The best F-measure of a clause with any phrase of a symptom, 0 … 1."""
        return max((self._alike(phrase, clause) for phrase in self._phrases[symptom]), default=0.0)

    def _alike(self, phrase: frozenset[str], clause: frozenset[str]) -> float:
        """The F-measure of a clause with a phrase; kept for the last clauses, which are asked of again and again."""
        known = self._likeness.get(clause)
        if known is None:
            known = {}
            self._likeness = {clause: known, **dict(list(self._likeness.items())[:KEPT])}
        found = known.get(phrase)
        if found is None:
            found = known[phrase] = self._worked_out(phrase, clause)
        return found

    def _worked_out(self, phrase: frozenset[str], clause: frozenset[str]) -> float:
        if phrase.isdisjoint(clause) and phrase.isdisjoint(self._twins(clause)):
            return 0.0
        found, used = self._common(phrase, clause)
        things = {stem for stem in found if stem != NOT}
        complaint, whole, of_complaint = self._summed(phrase)
        if not things or (len(things) == 1 and len(complaint) > 2):
            return 0.0
        if self._sum(things) < HALF * of_complaint:
            return 0.0
        recall = sum(self._weight(stem) * likeness for stem, likeness in found.items()) / whole
        precision = self._sum(used) / self._sum(clause)
        f = 2.0 * precision * recall / (precision + recall)
        if (NOT in phrase) != (NOT in clause):
            f *= OPPOSITE
        return round(max(0.0, min(1.0, (f - 0.2) / 0.8)), 3)

    def refuses_always(self, symptom: str) -> bool:
        """Whether every phrase of a symptom has a refusal in it, but for one in five."""
        phrases = self._phrases[symptom]
        return sum(NOT in phrase for phrase in phrases) >= 0.8 * len(phrases)

    def denied(self, symptom: str, clause: frozenset[str], well: bool) -> bool:
        """Whether a clause says the opposite of the symptom."""
        things = clause - {NOT} - {stem(word) for word in FINE} - {"problem", "trouble", "issu", "complaint"}
        phrases = self._phrases[symptom]
        if well:
            named = [one for one in things if self._weight(one) > WEIGHT_OF_STRANGER and one in self._weights]
            return any(sum(one in phrase for phrase in phrases) >= DENIES * len(phrases) for one in named)
        if NOT in clause:
            return self._refused(phrases, clause)
        plain = max((self._alike(phrase, clause) for phrase in phrases if NOT not in phrase), default=0.0)
        opposed = [phrase - {NOT} for phrase in phrases if NOT in phrase and self._opposes(phrase - {NOT}, things)]
        return max((self._alike(phrase, things) for phrase in opposed), default=0.0) > plain

    def _refused(self, phrases: Iterable[frozenset[str]], clause: frozenset[str]) -> bool:
        """Whether a clause with a refusal is a complaint that knows none, refused: "no burning smell"."""
        plain = max((self._alike(phrase, clause - {NOT}) for phrase in phrases if NOT not in phrase), default=0.0)
        refusing = max((self._alike(phrase, clause) for phrase in phrases if NOT in phrase), default=0.0)
        return plain >= REFUSED and plain > refusing

    def _opposes(self, complaint: frozenset[str], things: frozenset[str]) -> bool:
        found, _ = self._common(complaint, things)
        said = sum(self._weight(stem) for stem in found)
        return len(found) >= 2 and said >= DENIES * self._sum(complaint)

    def _common(self, phrase: frozenset[str], clause: frozenset[str]) -> tuple[dict[str, float], set[str]]:
        """Stems of the phrase found in the clause with their likeness, and the stems of the clause that were used."""
        shared = phrase & clause
        found, used = dict.fromkeys(shared, 1.0), set(shared)
        twins = self._twins(clause)
        for one in sorted((phrase & twins.keys()) - shared):
            twin = max(((alike, other) for alike, other in twins[one] if other not in used), default=None)
            if twin is not None:
                found[one] = MISSPELT
                used.add(twin[1])
        return found, used

    def _twins(self, clause: frozenset[str]) -> dict[str, list[tuple[float, str]]]:
        """By stem of the book: the stems of a clause that may be it misspelt, with their likeness."""
        if clause not in self._misspelt:
            twins: dict[str, list[tuple[float, str]]] = {}
            for other in clause:
                for one, alike in self._alike_stems(other).items():
                    twins.setdefault(one, []).append((alike, other))
            self._misspelt = {clause: twins, **dict(list(self._misspelt.items())[:KEPT])}
        return self._misspelt[clause]

    def _alike_stems(self, other: str) -> dict[str, float]:
        """The book's stems that a word may be, misspelt, with their likeness; short words are taken as they are."""
        from rapidfuzz import fuzz, process  # only where words are compared

        if len(other) < LONG_ENOUGH:
            return {}
        found = process.extract(other, self._long, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=None)
        return {one: alike for one, alike, _ in found}

    def _summed(self, phrase: frozenset[str]) -> tuple[frozenset[str], float, float]:
        """A phrase without its refusal; what all of it weighs, and that. Asked for each phrase at each clause."""
        known = self._of_phrase.get(phrase)
        if known is None:
            complaint = phrase - {NOT}
            known = self._of_phrase[phrase] = complaint, self._sum(phrase), self._sum(complaint)
        return known

    def _weight(self, stem: str) -> float:
        return self._weights.get(stem, WEIGHT_OF_STRANGER)

    def _sum(self, stems: Iterable[str]) -> float:
        return sum(self._weight(stem) for stem in stems)


def _complained(phrase: str) -> str:
    """A phrase without what it says to be well: "no greens, horn normal" is no phrase about a horn."""
    left = [clause for clause in clauses(phrase) if not says_well(clause)]
    return " , ".join(left) or phrase
