"""Which symptom a text speaks of, learned from all the phrases of the book at once.

Regularised least squares over the phrases (Rifkin, Yeo and Poggio, "Regularized least-squares classification", 2003):
each symptom's score is the linear function of the text's features that comes nearest to 1 on its own phrases and to 0
on those of the others. Features are stems, neighbouring stems, and the letters of words in runs of three to five, so
that a word misspelt still tells; weighted by their rarity (Sparck Jones 1972) and hashed (Weinberger et al. 2009).
"""

from __future__ import annotations

import math
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

PLACES = 1024
"""Places that features of one kind are hashed to."""

RUNS = (3, 4, 5)
STIFFNESS = 1.0
SHARE_OF_WORDS = 0.6
"""How much the words count against the runs of letters."""


class Ranking:
    """Scores of all symptoms for a text, learned from ``phrases``: stems in their order, by symptom."""

    def __init__(self, phrases: Mapping[str, Sequence[Sequence[str]]]) -> None:
        self.symptoms = list(phrases)
        told = [(i, words) for i, one in enumerate(phrases.values()) for words in one]
        counts = [[Counter(kind(words)) for _, words in told] for kind in KINDS]
        self._rarity = [_rarity(of_kind) for of_kind in counts]
        self._places: dict[str, int] = {}
        features = np.zeros((len(told), len(KINDS) * PLACES), dtype=np.float32)
        for row, of_phrase in zip(features, zip(*counts, strict=True), strict=True):
            self._put(row, of_phrase)
        wanted = np.zeros((len(told), len(self.symptoms)), dtype=np.float32)
        wanted[np.arange(len(told)), [i for i, _ in told]] = 1.0
        alike = features @ features.T
        alike.flat[:: len(told) + 1] += STIFFNESS  # the diagonal
        self._weights = features.T @ np.linalg.solve(alike, wanted)

    def scores(self, words: Sequence[str]) -> dict[str, float]:
        """Score by symptom, about 0 … 1."""
        found = self._features(words) @ self._weights
        return dict(zip(self.symptoms, found.tolist(), strict=True))

    def _features(self, words: Sequence[str]) -> Floats:
        row = np.zeros(len(KINDS) * PLACES, dtype=np.float32)
        self._put(row, [Counter(kind(words)) for kind in KINDS])
        return row

    def _put(self, row: Floats, counts: Sequence[Counter[str]]) -> None:
        """Fills a row of zeros with the features of one text: each kind has the length of its share."""
        for i, (found, rarity, share) in enumerate(zip(counts, self._rarity, SHARES, strict=True)):
            part = row[i * PLACES : (i + 1) * PLACES]
            for feature, count in found.items():
                if feature in rarity:
                    part[self._place(feature)] += (1.0 + math.log(count)) * rarity[feature]
            size = math.sqrt(part @ part)
            if size > 0:
                part *= math.sqrt(share) / size

    def _place(self, feature: str) -> int:
        if feature not in self._places:
            self._places[feature] = zlib.crc32(feature.encode()) % PLACES
        return self._places[feature]


def _of_words(words: Sequence[str]) -> Iterator[str]:
    yield from words
    for one, other in pairwise(words):
        yield f"{one} {other}"


def _of_letters(words: Sequence[str]) -> Iterator[str]:
    for word in words:
        whole = f" {word} "
        for run in RUNS:
            for start in range(len(whole) - run + 1):
                yield whole[start : start + run]


KINDS = (_of_words, _of_letters)
SHARES = (SHARE_OF_WORDS, 1.0 - SHARE_OF_WORDS)


def _rarity(told: Sequence[Iterable[str]]) -> dict[str, float]:
    """Inverse document frequency of each feature over the phrases, each feature named once for a phrase."""
    spread = Counter(feature for features in told for feature in features)
    return {feature: 1.0 + math.log((1 + len(told)) / (1 + n)) for feature, n in spread.items()}
