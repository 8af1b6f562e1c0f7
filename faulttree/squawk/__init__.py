"""A pilot's words to symptoms. All words about the gear are the book's; here is only how they are compared.

A text is cut into clauses. Each is compared with the book's phrases one by one (:mod:`faulttree.squawk.phrases`), and
ranked by what all of them teach together (:mod:`faulttree.squawk.ranking`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from faulttree.book.model import Book
from faulttree.kept import Latest
from faulttree.squawk.aside import Aside, Told
from faulttree.squawk.phrases import Phrases
from faulttree.squawk.ranking import Ranking
from faulttree.squawk.words import NOT, Vocabulary, clauses, in_order, says_well

TEXTS_KEPT = 4
"""Squawks whose symptoms are kept: every question about one of them asks what was heard."""

SURE = 0.5
"""Score from which a symptom is recognised in the whole of what was said."""

SURE_OF_CLAUSE = 0.6
"""Score from which the symptom that leads in one clause is recognised beside what leads in the whole."""

BESIDE = 0.7
"""Share of the leading score that a second symptom of the whole needs to be recognised too."""

WORTH_ASKING = 0.45
"""Share of the leading score from which a symptom is asked about beside one that was recognised.

Of some 700 squawks a family that are not in the book as many are understood within three as from a share of 0.3 on (one
fewer of a power pack), and 0.7 symptoms are asked about for each instead of 1.1."""

ASKED_BESIDE = 0.2
"""Score from which a symptom is asked about beside one of which the squawk is a phrase, word for word."""

DENIED_YET_ASKED = 0.3
"""Score in the complaints from which a symptom is asked about that is denied elsewhere in the squawk."""

ASKED = 0.17
MOST_ASKED = 3
"""Asked about from this score on, the likeliest three; fewer where something was recognised."""

SURELY_OPPOSED = 0.2
"""How much more a clause without a refusal must be like a complaint once it is refused, to be the opposite of it."""

SHARE_OF_PHRASES = 0.25
"""How much the likeness to single phrases counts beside what all of them teach."""


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


def learn(book: Book) -> None:
    """Learns the book's phrases, some half a second's work, so that the first :func:`match` finds it done."""
    _ear(book)


def match(book: Book, text: str) -> Matches:
    """Symptoms heard in ``text``: the whole is ranked, and each clause by itself, what it denies left out."""
    if not book.symptoms:
        return Matches((), (), ())
    ear = _ear(book)
    return ear.heard.get(text) or ear.heard.put(text, _matched(ear, text))


def _matched(ear: _Ear, text: str) -> Matches:
    written = ear.as_written(text)
    said = [(clause, ear.hear(clause)) for clause in clauses(text)]
    told = {symptom for _, heard in said for symptom in heard.told}
    if written:
        well = frozenset[str]().union(*(heard.absent for _, heard in said if heard.quiet)) | told
        well -= written
        # The book's own words; what they are nearly as like is asked about beside it.
        others = [(-score, s) for s, score in ear.about(said).items() if s not in written | well]
        asked = [Match(s, -lower, text.strip()) for lower, s in sorted(others)[:MOST_ASKED] if -lower >= ASKED_BESIDE]
        own = tuple(Match(symptom, 1.0, text.strip()) for symptom in sorted(written))
        return Matches(own, tuple(sorted(well)), tuple(asked))
    absent = {symptom for _, heard in said for symptom in heard.absent} | told
    # What is said to be well, or denied, must not lend its words to a complaint beside it.
    complaints = [(clause, heard) for clause, heard in said if not heard.quiet]
    # "The wheels hung out" by itself denies that they stayed up; beside a complaint it is part of the story.
    if all(heard.opposite for _, heard in complaints):
        complaints = []
    if not complaints:
        return Matches((), tuple(sorted(absent)), ())
    denied = told.union(*(heard.absent for _, heard in said if heard.quiet))
    every = {s: Match(s, score, _words_of(s, complaints)) for s, score in ear.about(complaints).items()}
    found = {s: m for s, m in every.items() if s not in denied}
    best = max((m.score for m in found.values()), default=0.0)
    sure = {s for s, m in found.items() if m.score >= max(SURE, BESIDE * best)}
    for clause, heard in complaints:
        leads = max(heard.scores, key=lambda s: (heard.scores[s], s))
        if heard.scores[leads] >= SURE_OF_CLAUSE and leads in found and leads not in heard.elsewhere:
            sure.add(leads)
            found[leads] = Match(leads, found[leads].score, clause)
    ordered = sorted(found.values(), key=lambda m: (-m.score, m.id))
    recognised = tuple(m for m in ordered if m.id in sure)
    asked = [
        m for m in ordered if m.id not in sure and m.score >= max(ASKED, WORTH_ASKING * best if recognised else 0.0)
    ]
    # What one clause praises and another complains of all the same is asked about; what was told outright only where
    # the rest of the squawk by itself says the opposite.
    both = [m for s, m in every.items() if s in denied and m.score >= (SURE if s in told else DENIED_YET_ASKED)]
    asked = sorted([*asked, *both], key=lambda m: (-m.score, m.id))[:MOST_ASKED]
    return Matches(recognised, tuple(sorted(absent - sure - {m.id for m in asked})), tuple(asked))


def _words_of(symptom: str, complaints: list[tuple[str, _Heard]]) -> str:
    """The clause that speaks most of a symptom."""
    return max(complaints, key=lambda one: one[1].scores[symptom])[0]


@dataclass(frozen=True, slots=True)
class _Heard:
    """One clause: scores by symptom, those denied, whether it complains of nothing, or is a complaint turned round.

    ``told`` are those that the book's own words for it deny, ``elsewhere`` those that it does not speak of.
    """

    scores: dict[str, float]
    absent: frozenset[str]
    quiet: bool
    opposite: bool = False
    told: frozenset[str] = frozenset()
    elsewhere: frozenset[str] = frozenset()


class _Ear:
    """What is learned from the phrases of one book."""

    def __init__(
        self, phrases: Mapping[str, Sequence[str]], beside: Mapping[str, Told], words: Mapping[str, str]
    ) -> None:
        self._vocabulary = Vocabulary(words)
        self._aside = Aside(beside, self._vocabulary)
        self._phrases = Phrases(phrases, self._vocabulary)
        told = {symptom: [self._stems(phrase) for phrase in said] for symptom, said in phrases.items()}
        self._ranking = Ranking(told)
        self.heard = Latest[str, Matches](TEXTS_KEPT)
        self._written: dict[frozenset[str], frozenset[str]] = {}
        for symptom, stems in told.items():
            for known in map(frozenset, stems):
                self._written[known] = self._written.get(known, frozenset[str]()) | {symptom}

    def _stems(self, text: str) -> list[str]:
        return in_order(self._vocabulary.plain(text))

    def about(self, said: Sequence[tuple[str, _Heard]]) -> dict[str, float]:
        """Scores of clauses together; no symptom gains by one that speaks of something else, or denies it."""
        kept: dict[str, dict[str, float]] = {}

        def scores(of: Iterable[str]) -> dict[str, float]:
            text = " , ".join(of)
            if text not in kept:
                kept[text] = self.hear(text).scores
            return kept[text]

        found = dict(scores(clause for clause, _ in said))
        for symptom in found:
            of_it = [clause for clause, heard in said if symptom not in heard.elsewhere | heard.told]
            found[symptom] = min(found[symptom], scores(of_it)[symptom])
        return found

    def hear(self, clause: str) -> _Heard:
        """One clause, or several as one."""
        told, elsewhere = self._aside.denied(clause), self._aside.elsewhere(clause)
        return replace(self._heard(clause), told=told, elsewhere=elsewhere)

    def _heard(self, clause: str) -> _Heard:
        said, well = self._stems(clause), says_well(clause)
        known = frozenset(said)
        scores = {
            symptom: max(0.0, min(1.0, score + SHARE_OF_PHRASES * self._phrases.score(symptom, known)))
            if len(known) > 1
            else self._phrases.score(symptom, known)  # one word by the way is no symptom
            for symptom, score in self._ranking.scores(said).items()
        }
        absent = frozenset(symptom for symptom in scores if self._phrases.denied(symptom, known, well))
        leads = max(scores, key=lambda s: (scores[s], s), default=None)
        if well or leads not in absent:
            return _Heard(scores, absent, well)
        # Words deny a complaint only where the other way round they are more like it: "no smell" and "heard the horn"
        # do, "no light" does not.
        other = [word for word in said if word != NOT] if NOT in known else [*said, NOT]
        margin = 0.0 if NOT in known or self._phrases.refuses_always(leads) else SURELY_OPPOSED
        denies = self._ranking.scores(other)[leads] > self._ranking.scores(said)[leads] + margin
        refuses = NOT in known
        return _Heard(scores, absent if denies else absent - {leads}, denies and refuses, denies and not refuses)

    def as_written(self, text: str) -> frozenset[str]:
        """Symptoms of which the text is a phrase, word for word."""
        return self._written.get(frozenset(self._stems(text)), frozenset())


_Phrases = tuple[str, tuple[str, ...], Told]
"""A symptom's id, all phrases for it, its name the last, and what is said beside them: learned once where the same."""


@lru_cache(maxsize=4)
def _ear_of(told: tuple[_Phrases, ...], words: tuple[tuple[str, str], ...]) -> _Ear:
    return _Ear({s: says for s, says, _ in told}, {s: beside for s, _, beside in told}, dict(words))


def _ear(book: Book) -> _Ear:
    told = tuple((s.id, (*s.says, s.name), Told(s.denied_by, s.speaks_of, s.not_of)) for s in book.symptoms.values())
    return _ear_of(told, tuple(book.words.items()))
