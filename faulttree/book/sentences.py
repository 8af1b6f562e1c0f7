"""Sentences of a text, and which of them another text no longer says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

MOST = 3
"""Sentences that are told; more are counted."""

_ENDS = re.compile(r"(?<=[.!?;])\s+")


def gone(before: Any, now: Any) -> list[str]:
    """The sentences of a text, or of texts, that are missing in another, however they are spaced and stopped."""
    said = {_alike(sentence) for sentence in _sentences(now)}
    return [sentence for sentence in _sentences(before) if _alike(sentence) not in said]


def begins(before: Any, now: Any) -> bool:
    """Whether a text begins with another, sentence by sentence."""
    was, then = ([_alike(sentence) for sentence in _sentences(words)] for words in (before, now))
    return then[: len(was)] == was


def listed(sentences: Sequence[str]) -> str:
    """Sentences in quotes, the first of them where there are many."""
    more = f" and {len(sentences) - MOST} more" if len(sentences) > MOST else ""
    return "; ".join(f"“{sentence}”" for sentence in sentences[:MOST]) + more


def same(one: Any, other: Any) -> bool:
    """Whether two texts say the same in the same words."""
    return _alike(str(one)) == _alike(str(other))


def _sentences(words: Any) -> list[str]:
    """Of a text, of texts, or of what is set up or put back: as it was written, or as it was read."""
    told = words.get("words") if isinstance(words, dict) else getattr(words, "words", words)
    texts = told if isinstance(told, list | tuple) else [told or ""]
    return [sentence for text in texts for sentence in _ENDS.split(str(text).strip()) if sentence]


_WORDS = re.compile(r"\w+|[<>=≤≥±%]|(?<![\w-])[-−+](?=\d)")
"""Words, and signs that turn what is said about: more or less than, a figure below nothing."""


def _alike(sentence: str) -> str:
    return " ".join(_WORDS.findall(sentence.casefold()))
