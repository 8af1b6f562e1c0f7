"""Entries by what somebody may call them: their id, their name, or something like it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rapidfuzz import fuzz, process, utils

OFFERED, ALIKE = 5, 60.0
"""So many near names are offered, each at least so like the one asked for (0 … 100)."""


def near(asked: str, names: Mapping[str, str]) -> list[str]:
    """The ids of ``names`` (id: name) that are most like what was asked for, by id or by name, the likest first."""
    words = asked[:200]
    like: dict[str, float] = {}
    for known in ({name: name for name in names}, names):
        for _, score, name in process.extract(
            words, known, scorer=fuzz.WRatio, processor=utils.default_process, limit=OFFERED, score_cutoff=ALIKE
        ):
            like[name] = max(score, like.get(name, 0.0))
    return sorted(like, key=lambda name: (-like[name], name))[:OFFERED]


LEAST_LIKE, PREFIX = 72.0, 96.0
"""A word is found that is at least so like one asked for; one that begins with it is as good as the word itself."""


def by_words(asked: str, texts: Mapping[str, Sequence[str]]) -> list[str]:
    """The ids of ``texts`` of which one has words like all or most of those asked for, the likest first.

    Misspelt words count by their likeness, long words for more than short ones; of texts alike the shorter one comes
    first.
    """
    wanted = [word for word in utils.default_process(asked[:200]).split() if word]
    if not wanted:
        return []
    found: dict[str, tuple[float, int]] = {}
    for name, said in texts.items():
        for text in said:
            words = set(utils.default_process(text).split())
            scores = [max((_like(one, word) for word in words), default=0.0) for one in wanted]
            kept = [(score, len(one)) for score, one in zip(scores, wanted, strict=True) if score >= LEAST_LIKE]
            if 2 * len(kept) >= len(wanted):
                score = sum(score * signs for score, signs in kept) / sum(map(len, wanted))
                found[name] = max(found.get(name, (0.0, 0)), (score, -len(words)))
    best = max((score for score, _ in found.values()), default=0.0)
    near = [name for name, (score, _) in found.items() if score >= best / 2]
    return sorted(near, key=lambda name: (-found[name][0], -found[name][1], name))


def _like(one: str, word: str) -> float:
    if one == word:
        return 100.0
    return PREFIX if len(one) > 2 and word.startswith(one) else fuzz.ratio(one, word)
