"""What is written for practice beside the book: lessons, fixed scenarios, what tempts, what pilots say and mean.

It lies in files named ``*.drills.yaml`` and is no part of the book: the advice does not change with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from faulttree.book.model import Symptom
from faulttree.book.positions import Position, Problem

FEW_WORDS = 7
"""Words of a squawk in a drill. A longer one tells more than the drill knows of."""


@dataclass(frozen=True, slots=True)
class Temptation:
    """What nobody should do and somebody does: its ``name`` in a list of steps, what ``could`` have happened."""

    id: str
    name: str
    kind: str
    could: str
    cautions: tuple[str, ...] = ()
    symptoms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DrillAsked:
    """A drill that a lesson ends in: a scenario, or what is drawn by level, seed and symptom."""

    family: str
    level: int = 1
    seed: int = 1
    symptom: str | None = None
    scenario: str | None = None


@dataclass(frozen=True, slots=True)
class Lesson:
    """A short lesson. ``text`` are paragraphs; ``helps`` what of a debrief it is good against, the most first."""

    id: str
    name: str
    rule: str
    text: tuple[str, ...]
    watch: str
    drill: DrillAsked
    helps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scenario:
    """A fixed drill. ``hard`` and ``sleeping`` are the hidden faults; ``answers`` what a check shows whatever the dice
    say, as long as nothing was repaired; ``earlier`` a repair that somebody did for nothing."""

    id: str
    name: str
    position: Position
    family: str
    symptoms: tuple[str, ...]
    words: str
    hard: tuple[str, ...] = ()
    sleeping: tuple[str, ...] = ()
    fitted: tuple[str, ...] = ()
    circumstances: tuple[str, ...] = ()
    hours: float | None = None
    earlier: str | None = None
    opinion: str | None = None
    opening: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    level: int = 3
    note: str = ""


@dataclass(frozen=True, slots=True)
class Heard:
    """What some ``words`` of a pilot assert: the ``answers`` that go with them, by question; the same of ``opening``
    questions. ``symptoms`` are those in whose sayings they mean that, any without. ``never``: words about another kind
    of gear, which no pilot of this one says."""

    id: str
    position: Position
    words: tuple[str, ...]
    answers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    opening: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    symptoms: tuple[str, ...] = ()
    never: bool = False

    def said(self, text: str, symptoms: Sequence[str]) -> bool:
        """Whether a text about these symptoms asserts it."""
        if self.symptoms and not set(self.symptoms).intersection(symptoms):
            return False
        told = _plain(text)
        return any(_plain(words) in told for words in self.words)


@dataclass(frozen=True, slots=True)
class Quizzed:
    """When a caution can apply: with these answers of ``opening`` questions, or ``never``, with this kind of gear."""

    opening: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    never: bool = False

    def applies(self, given: Mapping[str, str]) -> bool:
        """Whether it can, by the answers given so far; what was not asked speaks for it."""
        return not self.never and all(given.get(name, those[0]) in those for name, those in self.opening.items())


@lru_cache(maxsize=4096)
def _plain(text: str) -> str:
    """In small letters, one blank around each word; an apostrophe is no letter, since pilots leave it out."""
    return " ".join(["", *re.findall("[a-z0-9]+", re.sub("['\u2019]", "", text.lower())), ""])


def sayings(symptom: Symptom) -> list[str]:
    """What a pilot in a drill may say of a symptom: short, without an aside; all where none is short."""
    short = [words for words in symptom.says if "," not in words and len(words.split()) <= FEW_WORDS]
    return short or list(symptom.says)


@dataclass(frozen=True, slots=True)
class Practice:
    """All that is written for practice of one family. ``answers`` to opening questions are by symptom and question;
    ``quizzed`` is when a caution can apply, always for one that is not in it; ``harmless_to_lack`` and
    ``harmless_to_do`` are conditions without which, or by setting up which, nobody is hurt."""

    lessons: Mapping[str, Lesson] = field(default_factory=dict)
    scenarios: Mapping[str, Scenario] = field(default_factory=dict)
    temptations: Mapping[str, Temptation] = field(default_factory=dict)
    answers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    subsystems: Mapping[str, str] = field(default_factory=dict)
    heard: Mapping[str, Heard] = field(default_factory=dict)
    quizzed: Mapping[str, Quizzed] = field(default_factory=dict)
    harmless_to_lack: frozenset[str] = frozenset()
    harmless_to_do: frozenset[str] = frozenset()

    def asserted(self, text: str, symptoms: Sequence[str]) -> Iterator[Heard]:
        """All that a pilot's text about these symptoms asserts."""
        return (heard for heard in self.heard.values() if heard.said(text, symptoms))


@dataclass(frozen=True, slots=True)
class PracticeReading:
    """What was read: all that is sound, and what is wrong with the rest."""

    practice: Practice
    problems: tuple[Problem, ...] = ()


def read_practice(folders: Sequence[Path], family: str) -> PracticeReading:
    """What is written for practice in these folders for a family. Never raises for bad data."""
    from faulttree.book.drillreader import read  # brings YAML and pydantic
    from faulttree.book.files import collect

    files, _ = collect(folders, family)
    return read(files, family)
