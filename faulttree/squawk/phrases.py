"""How much a clause has in common with a symptom's phrases, and whether it says the opposite.

Stems weigh by how few symptoms share them (inverse document frequency, Sparck Jones 1972), and a clause scores by the
F-measure of the weight that it and a phrase have in common. Misspelt words count by their likeness (rapidfuzz).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from faulttree.squawk.words import FINE, NOT, Vocabulary, clauses, says_well, stem, stems

WEIGHT_OF_NOT = 0.6
WEIGHT_OF_STRANGER = 0.5
ALIKE = 82.0
MISSPELT = 0.9
LONG_ENOUGH = 4
"""Letters of a stem from which on it may be a misspelt one."""

KEPT = 8
"""Clauses of which the misspelt words and likenesses are kept: one is compared with every phrase in turn."""

ROUNDED = 1e-9
"""By so much the weights of the same stems may differ by the order in which they were added up."""

OPPOSITE = 0.45
"""A clause that refuses where the phrase does not, or the other way round, keeps this share of its score."""

HALF = 0.5
"""How much of what a phrase speaks of, its refusal left out, has to be heard for it to count at all."""

REFUSED = 0.45
"""How alike a clause without its refusal must be to a complaint that has none, to deny it."""

DENIES = 0.6
"""How much of a complaint must be said, its refusal left out, to deny it; or of a thing's phrases must name it."""

NO_THINGS = frozenset({NOT, *(stem(word) for word in FINE), "problem", "trouble", "issu", "complaint"})
"""Stems that name nothing of which a clause could say that it is well."""


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
        self._likeness: dict[frozenset[str], dict[str, list[tuple[frozenset[str], float]]]] = {}
        self._owners: dict[frozenset[str], set[str]] = {}
        for symptom, said in self._phrases.items():
            for phrase in said:
                self._owners.setdefault(phrase, set()).add(symptom)
        self._every = list(self._owners)
        self._places: dict[str, list[int]] = {}
        for place, phrase in enumerate(self._every):
            for one in phrase - {NOT}:
                self._places.setdefault(one, []).append(place)
        self._half = HALF * np.array([self._summed(phrase)[2] for phrase in self._every]) - ROUNDED

    def score(self, symptom: str, clause: frozenset[str]) -> float:
        """The best F-measure of a clause with any phrase of a symptom, 0 … 1."""
        return max((alike for _, alike in self._alike(symptom, clause)), default=0.0)

    def _alike(self, symptom: str, clause: frozenset[str]) -> Sequence[tuple[frozenset[str], float]]:
        """The phrases of a symptom that a clause may say, each with their F-measure; with the others it is 0.

        Kept for the last clauses: each is compared with all symptoms in turn.
        """
        known = self._likeness.get(clause)
        if known is None:
            known = {}
            for phrase in self._near(clause):
                alike = phrase, self.likeness(phrase, clause)
                for one in self._owners[phrase]:
                    known.setdefault(one, []).append(alike)
            self._likeness = {clause: known, **dict(list(self._likeness.items())[:KEPT])}
        return known.get(symptom, ())

    def _near(self, clause: frozenset[str]) -> list[frozenset[str]]:
        """The phrases of which enough may be heard in a clause for them to count, all that may be misspelt taken so."""
        heard = [one for one in clause.union(self._twins(clause)) if one in self._places]
        if not heard:
            return []
        where = np.concatenate([self._places[one] for one in heard])
        weights = np.repeat([self._weights[one] for one in heard], [len(self._places[one]) for one in heard])
        said = np.bincount(where, weights=weights, minlength=len(self._every))
        return [self._every[place] for place in np.flatnonzero((said > 0.0) & (said >= self._half))]

    def likeness(self, phrase: frozenset[str], clause: frozenset[str]) -> float:
        """The F-measure of a clause with one phrase, 0 … 1."""
        found, used = self._common(phrase, clause)
        things = {stem for stem in found if stem != NOT}
        complaint, whole, of_complaint = self._summed(phrase)
        if not things or (len(things) == 1 and len(complaint) > 2):
            return 0.0
        if self._sum(things) < HALF * of_complaint:
            return 0.0
        recall = math.fsum(self._weight(stem) * likeness for stem, likeness in found.items()) / whole
        precision = self._sum(used) / self._sum(clause)
        f = 2.0 * precision * recall / (precision + recall)
        if (NOT in phrase) != (NOT in clause):
            f *= OPPOSITE
        return round(max(0.0, min(1.0, (f - 0.2) / 0.8)), 3)

    def of(self, symptom: str) -> Sequence[frozenset[str]]:
        """The phrases of a symptom, as stems."""
        return self._phrases[symptom]

    def refuses_always(self, symptom: str) -> bool:
        """Whether every phrase of a symptom has a refusal in it, but for one in five."""
        phrases = self.of(symptom)
        return sum(NOT in phrase for phrase in phrases) >= 0.8 * len(phrases)

    def denied(self, symptom: str, clause: frozenset[str], well: bool) -> bool:
        """Whether a clause says the opposite of the symptom."""
        things = clause - NO_THINGS
        phrases = self._phrases[symptom]
        if well:
            named = [one for one in things if self._weight(one) > WEIGHT_OF_STRANGER and one in self._weights]
            return any(sum(one in phrase for phrase in phrases) >= DENIES * len(phrases) for one in named)
        if NOT in clause:
            return self._refused(symptom, clause)
        plain = max((alike for phrase, alike in self._alike(symptom, clause) if NOT not in phrase), default=0.0)
        refusing = [phrase - {NOT} for phrase, _ in self._alike(symptom, things) if NOT in phrase]
        opposed = [complaint for complaint in refusing if self._opposes(complaint, things)]
        return max((self.likeness(complaint, things) for complaint in opposed), default=0.0) > plain

    def _refused(self, symptom: str, clause: frozenset[str]) -> bool:
        """Whether a clause with a refusal is a complaint that knows none, refused: "no burning smell"."""
        without = self._alike(symptom, clause - {NOT})
        plain = max((alike for phrase, alike in without if NOT not in phrase), default=0.0)
        refusing = max((alike for phrase, alike in self._alike(symptom, clause) if NOT in phrase), default=0.0)
        return plain >= REFUSED and plain > refusing

    def _opposes(self, complaint: frozenset[str], things: frozenset[str]) -> bool:
        found, _ = self._common(complaint, things)
        return len(found) >= 2 and self._sum(found) >= DENIES * self._sum(complaint)

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
        return math.fsum(self._weight(stem) for stem in stems)  # the same in whichever order


def _complained(phrase: str) -> str:
    """A phrase without what it says to be well: "no greens, horn normal" is no phrase about a horn."""
    left = [clause for clause in clauses(phrase) if not says_well(clause)]
    return " , ".join(left) or phrase
