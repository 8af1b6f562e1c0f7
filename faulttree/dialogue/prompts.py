"""What the dialogue shows and what it takes back: plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from faulttree.advice import Fetch, Suggestion, ToGo
from faulttree.dialogue.tree import Branch
from faulttree.dialogue.where import Strip


@dataclass(frozen=True, slots=True)
class Choice:
    """One key and what it means. ``note`` is a word more, where there is one; ``short`` says it for a small window."""

    key: str
    label: str
    value: str
    note: str = ""
    short: str = ""


NOTE = Choice("a", "note", "note")


@dataclass(frozen=True, slots=True)
class CauseLine:
    """A cause as the ranking shows it: probability that it stands, and that it does so coming and going."""

    name: str
    probability: float
    comes_and_goes: float


@dataclass(frozen=True, slots=True)
class Moved:
    """A cause with its probability before the last answer and after it."""

    name: str
    was: float
    now: float


@dataclass(frozen=True, slots=True)
class Board:
    """The state of the job as the main screen shows it; ``refined`` tells a suggestion played to the end.

    ``where`` are chains, the one that counts most first; ``known`` is what was found, the latest first; ``waits`` a
    step that wants what is not at hand, in words.
    """

    causes: tuple[CauseLine, ...]
    unlisted: float
    standing: tuple[str, ...]
    suggestion: Suggestion | None
    to_go: ToGo | None
    warnings: tuple[str, ...] = ()
    fetch: Fetch | None = None
    refined: bool = False
    currency: str = ""
    where: tuple[Strip, ...] = ()
    known: tuple[str, ...] = ()
    waits: str = ""


@dataclass(frozen=True, slots=True)
class Prompt:
    """One thing asked. ``topic`` says what about; ``about`` names the item.

    Keys of ``choices`` and ``commands`` are single characters; ``text`` means that a line of words is wanted instead,
    with ``default`` for an empty one. ``cautions`` are ids to be shown before anything else, ``under`` those that were
    read and still hold. ``moved`` and ``trees`` are pictures: how the ranking moved, what was reported as fault trees.
    """

    topic: str
    title: str
    lines: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    commands: tuple[Choice, ...] = ()
    text: bool = False
    default: str | None = None
    about: str = ""
    cautions: tuple[str, ...] = ()
    board: Board | None = None
    under: tuple[str, ...] = ()
    moved: tuple[Moved, ...] = ()
    trees: tuple[Branch, ...] = ()


@dataclass(frozen=True, slots=True)
class NewEntry:
    """An entry to be appended to the case: its kind and data."""

    kind: str
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reply:
    """What an answer led to: entries to append, a sentence to show, or another view to open."""

    entries: tuple[NewEntry, ...] = ()
    say: str = ""
    view: str = ""
