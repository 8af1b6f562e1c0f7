"""A pilot's words to symptoms. All words about the gear are the book's; here is only how they are compared."""

from __future__ import annotations

import re
from dataclasses import dataclass

from faulttree.book.model import Book, Symptom

RECOGNISED = 0.5
UNSURE = 0.4
SPLIT = re.compile(r"[,;.!]|\band\b|\bbut\b|\bthen\b", re.IGNORECASE)
FINE = re.compile(r"\b(fine|ok|okay|normal|worked|works|good)\b", re.IGNORECASE)
NOT = re.compile(r"\b(not|no|never|nothing|\w+n'?t)\b", re.IGNORECASE)


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
    """Symptoms heard in ``text``, compared clause by clause with the book's phrases."""
    clauses = [clause.strip() for clause in (*SPLIT.split(text), text) if clause.strip()]
    best: dict[str, Match] = {}
    for symptom in book.symptoms.values():
        for clause in clauses:
            score = _score(symptom, clause)
            if symptom.id not in best or score > best[symptom.id].score:
                best[symptom.id] = Match(symptom.id, score, clause)
    ordered = sorted(best.values(), key=lambda m: (-m.score, m.id))
    fine = [m for m in ordered if m.score >= UNSURE and FINE.search(m.heard) and not NOT.search(m.heard)]
    rest = [m for m in ordered if m not in fine]
    return Matches(
        tuple(m for m in rest if m.score >= RECOGNISED),
        tuple(m.id for m in fine),
        tuple(m for m in rest if UNSURE <= m.score < RECOGNISED),
    )


def _words(text: str) -> str:
    return re.sub(r"[^a-z0-9 ]+", "", text.lower().replace("-", " ").replace("/", " "))


def _score(symptom: Symptom, clause: str) -> float:
    from rapidfuzz import fuzz  # only where words are compared

    heard = _words(clause)
    ratios = [_alike(fuzz.token_set_ratio(heard, said), fuzz.ratio(heard, said)) for said in map(_words, symptom.says)]
    return max((r for r in ratios), default=0.0)


def _alike(shared: float, whole: float) -> float:
    """Two ways of being alike, mixed: sharing words counts most, being the same sentence a little more."""
    mixed = (0.7 * shared + 0.3 * whole) / 100.0
    # Two sentences of a language share about half their letters by chance.
    return round(max(0.0, min(1.0, (mixed - 0.4) / 0.5)), 3)
