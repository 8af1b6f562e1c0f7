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
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

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
        self._rarity = [_rarity([kind(words) for _, words in told]) for kind in (_of_words, _of_letters)]
        features = np.stack([self._features(words) for _, words in told]) if told else np.zeros((0, 2 * PLACES))
        wanted = np.zeros((len(told), len(self.symptoms)))
        wanted[np.arange(len(told)), [i for i, _ in told]] = 1.0
        alike = features @ features.T
        self._weights = features.T @ np.linalg.solve(alike + STIFFNESS * np.eye(len(told)), wanted)

    def scores(self, words: Sequence[str]) -> dict[str, float]:
        """Score by symptom, about 0 … 1."""
        found = self._features(words) @ self._weights
        return dict(zip(self.symptoms, found.tolist(), strict=True))

    def _features(self, words: Sequence[str]) -> Floats:
        parts = []
        for kind, rarity, share in zip(
            (_of_words, _of_letters), self._rarity, (SHARE_OF_WORDS, 1.0 - SHARE_OF_WORDS), strict=True
        ):
            part = np.zeros(PLACES)
            for feature, count in Counter(kind(words)).items():
                part[_place(feature)] += (1.0 + math.log(count)) * rarity.get(feature, 0.0)
            size = float(np.linalg.norm(part))
            parts.append(part * (math.sqrt(share) / size if size > 0 else 0.0))
        return np.concatenate(parts)


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


def _rarity(told: Sequence[Any]) -> dict[str, float]:
    """Inverse document frequency of each feature over the phrases."""
    spread = Counter(feature for features in told for feature in set(features))
    return {feature: 1.0 + math.log((1 + len(told)) / (1 + n)) for feature, n in spread.items()}


def _place(feature: str) -> int:
    return zlib.crc32(feature.encode()) % PLACES
