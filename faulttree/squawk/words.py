"""A text as clauses, and a clause as stems: words that mean the same are one, every word of refusal is the same one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

SPLIT = re.compile(r"[,;.!?]|\b(?:and|but|then|though|although|yet|however|except)\b", re.IGNORECASE)
WORD = re.compile(r"[a-z0-9]+(?:'[a-z]+)?")
SUFFIX = re.compile(r"(?:ing|ed|es|s|e)$")

NOT = "not"
REFUSALS = frozenset(
    """no not never nothing nada none cannot unable without inop inoperative dead quit refuse refused refuses fail fails
    failed failure missing lost""".split()  # noqa: SIM905 - as below
)
REFUSED = re.compile(
    r"^(?:(?:wo|ca|do|does|did|dos|dose|is|was|were|are|would|could|should|has|have|had)n'?t|cant|wont)$"
)
FINE = frozenset(["fine", "ok", "okay", "normal", "normally", "worked", "works", "working", "work", "good"])
PART_OF_A_NAME = re.compile(r"\ba good\b|\bnormal (?=speed|descent|power|system|extension|retraction|way|position)")
"""Good and normal where they praise nothing: a good five seconds, at normal speed."""

NO_TROUBLE = re.compile(r"\bno\s+(?:problem|problems|trouble|issue|issues|complaint)\b", re.IGNORECASE)
IDLE = frozenset(
    """a all also an are as at be been by did do does for from had has have he her his i in is it its me my of or our
    she so some than that the their there they this to was way we were what when which while will with would
    you""".split()  # noqa: SIM905 - a list of thirty quoted words reads worse
)
WORDS_KEPT = 4096
"""Words of which is kept what they are: the phrases of a book come from some two thousand."""


def clauses(text: str) -> list[str]:
    """The clauses of a text, each once."""
    return list(dict.fromkeys(part.strip() for part in SPLIT.split(text) if part.strip()))


def says_well(clause: str) -> bool:
    """Whether a clause says that something is well: a good word not under a refusal, or "no trouble with"."""
    if NO_TROUBLE.search(clause):
        return True
    words = WORD.findall(PART_OF_A_NAME.sub(" ", plain(clause)))
    return any(word in FINE for word in words) and not any(refuses(word) for word in words)


def plain(text: str) -> str:
    return text.lower().replace("\u2019", "'")


@lru_cache(WORDS_KEPT)
def refuses(word: str) -> bool:
    return word in REFUSALS or bool(REFUSED.match(word))


def in_order(text: str) -> list[str]:
    """The stems of a text in their order."""
    words = (NOT if refuses(word) else stem(word) for word in WORD.findall(plain(text)) if word not in IDLE)
    return [word for word in words if word]


def words_of(text: str) -> list[str]:
    """All words of a text as stems in their order, idle ones as they are, each word of refusal as the same one."""
    return [NOT if refuses(word) else word if word in IDLE else stem(word) for word in WORD.findall(plain(text))]


def stems(text: str) -> frozenset[str]:
    """The stems of a text."""
    return frozenset(in_order(text))


@lru_cache(WORDS_KEPT)
def stem(word: str) -> str:
    word = word.split("'")[0]
    short = SUFFIX.sub("", word)
    return short if len(short) >= 3 else word


class Vocabulary:
    """Words that mean the same, each put as the one that stands for them; the longest way to say it first."""

    def __init__(self, words: Mapping[str, str]) -> None:
        self._heads: dict[str, str] = {}
        for head, same in words.items():
            for word in (head.replace("-", " "), *same.split(",")):
                self._heads[" ".join(plain(word).split())] = head.replace("-", "")
        longest = sorted(self._heads, key=len, reverse=True)
        ways = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in longest)
        self._said = re.compile(rf"(?<![a-z0-9])(?:{ways})(?![a-z0-9])") if ways else None

    def plain(self, text: str) -> str:
        """The text in small letters, with the words that stand for others."""
        if self._said is None:
            return plain(text)
        return self._said.sub(lambda found: self._heads[" ".join(found[0].split())], plain(text))
