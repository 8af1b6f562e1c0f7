"""A pilot's words to symptoms. All words about the gear are the book's; here is only how they are compared.

A text is cut into clauses; clause and phrase become sets of word stems, every word of refusal being the same one.
Stems weigh by how few symptoms share them (inverse document frequency, Sparck Jones 1972), and a clause scores by the
F-measure of the weight that it and a phrase have in common. Misspelt words count by their likeness (rapidfuzz).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from faulttree.book.model import Book, Symptom

RECOGNISED = 0.5
UNSURE = 0.4
FAINT = 0.1
MOST_ASKED = 3
"""Asked about from ``UNSURE`` on; where nothing at all was recognised, from ``FAINT`` on, the likeliest three."""

SPLIT = re.compile(r"[,;.!?]|\b(?:and|but|then|though)\b", re.IGNORECASE)
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
NO_TROUBLE = re.compile(r"\bno\s+(?:problem|problems|trouble|issue|issues|complaint)\b", re.IGNORECASE)
IDLE = frozenset(
    """a all also an are as at be been by did do does for from had has have he her his i in is it its me my of or our
    she so some than that the their there they this to was way we were what when which while will with would
    you""".split()  # noqa: SIM905 - a list of thirty quoted words reads worse
)

WEIGHT_OF_NOT = 0.6
WEIGHT_OF_STRANGER = 0.5
ALIKE = 82.0
MISSPELT = 0.9
OPPOSITE = 0.45
"""A clause that refuses where the phrase does not, or the other way round, keeps this share of its score."""

HALF = 0.5
"""How much of what a phrase speaks of, its refusal left out, has to be heard for it to count at all."""

DENIES = 0.6
"""How much of a complaint must be said, its refusal left out, to deny it; or of a thing's phrases must name it."""


@dataclass(frozen=True, slots=True)
class Match:
    """A symptom with its score in 0 … 1 and the words that it was heard in."""

    id: str
    score: float
    heard: str


@dataclass(frozen=True, slots=True)
class Matches:
    """Symptoms recognised (score 0.5 or more, best first), said to be absent, and those to ask about."""

    symptoms: tuple[Match, ...]
    absent: tuple[str, ...]
    unsure: tuple[Match, ...]


def match(book: Book, text: str) -> Matches:
    """Symptoms heard in ``text``, compared clause by clause (and clauses side by side) with the book's phrases."""
    vocabulary = _Vocabulary(book.words)
    compared = _Phrases(book.symptoms, vocabulary)
    clauses = _clauses(text)
    best: dict[str, Match] = {}
    absent: set[str] = set()
    for clause in clauses:
        stems = _stems(vocabulary.plain(clause))
        well = _says_well(clause)
        for symptom in book.symptoms:
            score = 0.0 if well else compared.score(symptom, stems)
            if symptom not in best or score > best[symptom].score:
                best[symptom] = Match(symptom, score, clause)
            if compared.denied(symptom, stems, well):
                absent.add(symptom)
    ordered = sorted(best.values(), key=lambda m: (-m.score, m.id))
    heard = tuple(m for m in ordered if m.score >= RECOGNISED)
    denied = absent - {m.id for m in heard}
    least = UNSURE if heard else FAINT
    unsure = tuple(m for m in ordered if least <= m.score < RECOGNISED and m.id not in denied)[:MOST_ASKED]
    return Matches(heard, tuple(sorted(denied)), unsure)


def _clauses(text: str) -> list[str]:
    """The clauses, each two neighbours together, and the whole text; shortest first."""
    single = [part.strip() for part in SPLIT.split(text) if part.strip()]
    if any(_says_well(clause) for clause in single):
        # What is said to be well must not lend its words to a complaint beside it.
        return list(dict.fromkeys(single))
    pairs = [f"{one} {other}" for one, other in pairwise(single)]
    return list(dict.fromkeys([*single, *pairs, text.strip()])) if single else []


def _says_well(clause: str) -> bool:
    """Whether a clause says that something is well: a good word not under a refusal, or "no trouble with"."""
    if NO_TROUBLE.search(clause):
        return True
    words = WORD.findall(_plain(clause))
    return any(word in FINE for word in words) and not any(_refuses(word) for word in words)


def _plain(text: str) -> str:
    return text.lower().replace("\u2019", "'")


def _refuses(word: str) -> bool:
    return word in REFUSALS or bool(REFUSED.match(word))


def _stems(text: str) -> frozenset[str]:
    words = WORD.findall(_plain(text))
    stems = {NOT if _refuses(word) else _stem(word) for word in words if word not in IDLE}
    return frozenset(stems - {""})


def _stem(word: str) -> str:
    word = word.split("'")[0]
    short = SUFFIX.sub("", word)
    return short if len(short) >= 3 else word


class _Vocabulary:
    """Words that mean the same, each put as the one that stands for them; the longest way to say it first."""

    def __init__(self, words: Mapping[str, str]) -> None:
        self._heads: dict[str, str] = {}
        for head, same in words.items():
            for word in (head.replace("-", " "), *same.split(",")):
                self._heads[" ".join(_plain(word).split())] = head.replace("-", "")
        longest = sorted(self._heads, key=len, reverse=True)
        ways = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in longest)
        self._said = re.compile(rf"(?<![a-z0-9])(?:{ways})(?![a-z0-9])") if ways else None

    def plain(self, text: str) -> str:
        """The text in small letters, with the words that stand for others."""
        if self._said is None:
            return _plain(text)
        return self._said.sub(lambda found: self._heads[" ".join(found[0].split())], _plain(text))


class _Phrases:
    """The book's phrases as stems, with the weight of each stem."""

    def __init__(self, symptoms: Mapping[str, Symptom], vocabulary: _Vocabulary) -> None:
        self._phrases = {
            symptom.id: [stems for said in (*symptom.says, symptom.name) if (stems := _stems(vocabulary.plain(said)))]
            for symptom in symptoms.values()
        }
        words = [frozenset[str]().union(*phrases) for phrases in self._phrases.values()]
        every = frozenset[str]().union(*words)
        spread = {stem: sum(stem in of_one for of_one in words) for stem in every}
        self._weights = {stem: math.log((len(words) + 1.0) / (n + 0.5)) + 0.1 for stem, n in spread.items()}
        self._weights[NOT] = WEIGHT_OF_NOT

    def score(self, symptom: str, clause: frozenset[str]) -> float:
        """The best F-measure of a clause with any phrase of a symptom, 0 … 1."""
        return max((self._alike(phrase, clause) for phrase in self._phrases[symptom]), default=0.0)

    def _alike(self, phrase: frozenset[str], clause: frozenset[str]) -> float:
        found, used = self._common(phrase, clause)
        things = {stem for stem in found if stem != NOT}
        if not things or (len(things) == 1 and len(phrase - {NOT}) > 2):
            return 0.0
        if self._sum(things) < HALF * self._sum(phrase - {NOT}):
            return 0.0
        recall = sum(self._weight(stem) * likeness for stem, likeness in found.items()) / self._sum(phrase)
        precision = self._sum(used) / self._sum(clause)
        f = 2.0 * precision * recall / (precision + recall)
        if (NOT in phrase) != (NOT in clause):
            f *= OPPOSITE
        return round(max(0.0, min(1.0, (f - 0.2) / 0.8)), 3)

    def denied(self, symptom: str, clause: frozenset[str], well: bool) -> bool:
        """Whether a clause says the opposite of the symptom."""
        things = clause - {NOT} - {_stem(word) for word in FINE} - {"problem", "trouble", "issu", "complaint"}
        phrases = self._phrases[symptom]
        if well:
            named = [stem for stem in things if self._weight(stem) > WEIGHT_OF_STRANGER and stem in self._weights]
            return any(sum(stem in phrase for phrase in phrases) >= DENIES * len(phrases) for stem in named)
        if NOT in clause:
            return False
        return any(NOT in phrase and self._opposes(phrase - {NOT}, things) for phrase in phrases)

    def _opposes(self, complaint: frozenset[str], things: frozenset[str]) -> bool:
        found, _ = self._common(complaint, things)
        said = sum(self._weight(stem) for stem in found)
        return len(found) >= 2 and said >= DENIES * self._sum(complaint)

    def _common(self, phrase: frozenset[str], clause: frozenset[str]) -> tuple[dict[str, float], set[str]]:
        """Stems of the phrase found in the clause with their likeness, and the stems of the clause that were used."""
        found = dict.fromkeys(phrase & clause, 1.0)
        used = set(phrase & clause)
        for stem in phrase - clause:
            twin = _nearest(stem, clause - used)
            if twin is not None:
                found[stem] = MISSPELT
                used.add(twin)
        return found, used

    def _weight(self, stem: str) -> float:
        return self._weights.get(stem, WEIGHT_OF_STRANGER)

    def _sum(self, stems: Iterable[str]) -> float:
        return sum(self._weight(stem) for stem in stems)


def _nearest(stem: str, others: Iterable[str]) -> str | None:
    """The most alike of ``others``, if it can be the same word misspelt; short words are taken as they are."""
    if len(stem) < 4:
        return None
    from rapidfuzz import fuzz  # only where words are compared

    scored = [(fuzz.ratio(stem, other), other) for other in sorted(others) if len(other) >= 4]
    best = max(scored, default=(0.0, ""))
    return best[1] if best[0] >= ALIKE else None
