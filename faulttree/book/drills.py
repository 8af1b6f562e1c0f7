"""What is written for practice beside the book: lessons, fixed scenarios, what tempts, what pilots answer.

It lies in files named ``*.drills.yaml`` and is no part of the book: the advice does not change with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from faulttree.book.positions import Position, Problem


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
    """A short lesson. ``text`` are paragraphs; ``helps`` what of a debrief it is good against."""

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
class Practice:
    """All that is written for practice of one family. ``answers`` to opening questions are by symptom and question."""

    lessons: Mapping[str, Lesson] = field(default_factory=dict)
    scenarios: Mapping[str, Scenario] = field(default_factory=dict)
    temptations: Mapping[str, Temptation] = field(default_factory=dict)
    answers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    subsystems: Mapping[str, str] = field(default_factory=dict)


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
