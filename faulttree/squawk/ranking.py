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
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain, pairwise

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
        self._known: list[dict[str, tuple[int, float]]] = []
        features = np.hstack([self._learned(kind, share, [words for _, words in told]) for kind, share in KINDS])
        wanted = np.zeros((len(told), len(self.symptoms)), dtype=np.float32)
        wanted[np.arange(len(told)), [i for i, _ in told]] = 1.0
        self._weights = nearest(features, wanted)

    def scores(self, words: Sequence[str]) -> dict[str, float]:
        """Score by symptom, about 0 … 1."""
        found = self._features(words) @ self._weights
        return dict(zip(self.symptoms, found.tolist(), strict=True))

    def _features(self, words: Sequence[str]) -> Floats:
        parts = np.zeros((len(KINDS), PLACES))
        for part, (kind, share), known in zip(parts, KINDS, self._known, strict=True):
            for feature, count in Counter(kind(words)).items():
                if feature in known:
                    place, rarity = known[feature]
                    part[place] += (1.0 + math.log(count)) * rarity
            _to_length(part, share)
        return parts.reshape(-1).astype(np.float32)

    def _learned(self, kind: Kind, share: float, told: Sequence[Sequence[str]]) -> Floats:
        """Features of one kind of all phrases at once, shape (n_phrases, PLACES); their places and rarity are kept."""
        found = [list(kind(words)) for words in told]
        names = list(dict.fromkeys(chain.from_iterable(found)))
        number = {name: i for i, name in enumerate(names)}
        row = np.repeat(np.arange(len(told)), [len(features) for features in found])
        of_row = np.fromiter((number[f] for f in chain.from_iterable(found)), dtype=np.int64, count=len(row))
        pairs, count = np.unique(row * max(len(names), 1) + of_row, return_counts=True)
        row, feature = np.divmod(pairs, max(len(names), 1))
        # Inverse document frequency: of each feature over the phrases, counted once for a phrase.
        spread = np.bincount(feature, minlength=len(names))
        rarity = 1.0 + np.log((1 + len(told)) / (1 + spread))
        place = np.array([zlib.crc32(name.encode()) % PLACES for name in names], dtype=np.int64)
        self._known.append(dict(zip(names, zip(place.tolist(), rarity.tolist(), strict=True), strict=True)))
        weights = (1.0 + np.log(count)) * rarity[feature]
        table = np.bincount(row * PLACES + place[feature], weights=weights, minlength=len(told) * PLACES)
        rows = table.astype(np.float64).reshape(len(told), PLACES)
        return _to_length(rows, share).astype(np.float32)


def nearest(features: Floats, wanted: Floats) -> Floats:
    """Weights (n_features, k) by which features (n, n_features) come nearest to what is wanted (n, k), kept small.

    By the smaller of the two systems that give the same: one unknown for each feature, or one for each text (Rifkin,
    Yeo and Poggio, as above).
    """
    texts, many = features.shape
    alike = features.T @ features if texts > many else features @ features.T
    alike.flat[:: len(alike) + 1] += STIFFNESS  # the diagonal
    if texts > many:
        return np.linalg.solve(alike, features.T @ wanted)
    return features.T @ np.linalg.solve(alike, wanted)


def _to_length(rows: NDArray[np.float64], share: float) -> NDArray[np.float64]:
    """Gives rows the length that their kind has of the whole, in place; a row of zeros stays one."""
    size = np.sqrt((rows * rows).sum(axis=-1, keepdims=True))
    rows *= math.sqrt(share) / np.where(size > 0, size, 1.0)
    return rows


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


Kind = Callable[[Sequence[str]], Iterator[str]]
KINDS: tuple[tuple[Kind, float], ...] = ((_of_words, SHARE_OF_WORDS), (_of_letters, 1.0 - SHARE_OF_WORDS))
"""What features there are, each kind with its share of a phrase's length."""
