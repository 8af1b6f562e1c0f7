"""YAML's events to plain Python data, with the place of every key and value.

The events are taken as they come, without YAML's own ideas of what a word means: only ``true`` and
``false`` are booleans, numbers are decimal, and all else (``yes``, ``012``, ``1:30``) stays the word it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import yaml

from faulttree.book.positions import Position, Problem

Path = tuple[str | int, ...]
Mark = tuple[int, int]

DEPTH = 20
"""How many mappings and lists may lie within each other. Real files need about eight."""

MOST_TOLD = 1000
"""Things refused in a text that are told one by one. More come of one slip, or of malice; each takes its time."""

UNPRINTABLE = re.compile(
    "[^\t\n\r\x20-\x7e\xa0-\xac\xae-\u200a\u2010-\u2027\u202f-\u205f\u2070-\ud7ff\ue000-\ufefe"
    "\uff00-\ufffd\U00010000-\U0010ffff]"
)
"""Characters that no text may hold: controls, odd line breaks, signs of no width, halves of pairs. A terminal obeys
some of them, and words that look alike are not alike with others."""

_CURLY, _DOUBLE = "“”„‟‘’‚‛", frozenset("“”„‟")
_NUMBER_SIGN = re.compile(r"[ \t]+(#[0-9]+)")

_NULL = {"", "~", "null"}
_BOOLEAN = {"true": True, "false": False}
_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]{0,14})")
_DECIMAL = re.compile(r"[-+]?((0|[1-9][0-9]{0,14})(\.[0-9]{0,30})?|\.[0-9]{1,30})([eE][-+]?[0-9]{1,3})?")


def _opened_alone(word: str) -> bool:
    """Whether a text begins or ends with a curly quote and has no other: a pair of which one is straight, or missing.

    Behind a figure it stands for inches.
    """
    at_an_end = word[0] in _DOUBLE or (word[-1] in _DOUBLE and not word[-2].isdigit())
    return at_an_end and sum(sign in _DOUBLE for sign in word) == 1


def meaning(word: str) -> Any:
    """What an unquoted word stands for: ``None``, a boolean, a decimal number, or itself."""
    if word in _NULL:
        return None
    if word in _BOOLEAN:
        return _BOOLEAN[word]
    if _INTEGER.fullmatch(word):
        return int(word)
    if _DECIMAL.fullmatch(word):
        return float(word)
    return word


@dataclass(slots=True)
class Places:
    """Where each key and each value of a file stands: line and column from 1, by path."""

    file: str
    keys: dict[Path, Mark] = field(default_factory=dict)
    values: dict[Path, Mark] = field(default_factory=dict)

    def key(self, path: Path) -> Position:
        """Where the key at ``path`` stands; for a list's member, or a key not there, the nearest thing around it."""
        while path not in self.keys and path not in self.values and path:
            path = path[:-1]
        return Position(self.file, *(self.keys.get(path) or self.values.get(path) or (1, 1)))

    def value(self, path: Path) -> Position:
        """Where the value at ``path`` stands, or the nearest thing around it."""
        while path not in self.values and path:
            path = path[:-1]
        return Position(self.file, *self.values.get(path, (1, 1)))


class TooDeepError(Exception):
    """Mappings and lists lie too deep within each other, at ``line`` and ``column`` from 0."""

    def __init__(self, mark: yaml.Mark) -> None:
        super().__init__(mark)
        self.line: int = mark.line
        self.column: int = mark.column


@dataclass(slots=True)
class _Frame:
    """An open mapping or list. What is refused is built all the same, but not ``kept``."""

    data: dict[str, Any] | list[Any]
    path: Path
    kept: bool
    key: str | None = None
    key_kept: bool = False


class Builder:
    """Builds the data of one text. After an error, :attr:`open_path` says what was being read.

    ``most`` things that are refused are told, and with the next that there are more. ``lines`` are those of the file.
    """

    def __init__(
        self,
        file: str,
        prefix: Path = (),
        places: Places | None = None,
        most: int = MOST_TOLD,
        lines: Sequence[str] = (),
    ) -> None:
        self.data: Any = None
        self.problems: list[Problem] = []
        self.incomplete: set[Path] = set()
        """Entries in which something was refused that they may need."""
        self.places = places or Places(file)
        self._file = file
        self._prefix = prefix
        self._most = most
        self._lines = lines
        self._stack: list[_Frame] = []
        self._documents = 0

    @property
    def open_path(self) -> Path:
        """The path of what was being read, as far as it is kept."""
        path = self._prefix
        for frame in self._stack:
            if not frame.kept:
                break
            path = frame.path if frame.key is None or not frame.key_kept else (*frame.path, frame.key)
        return path

    def read(self, events: Iterable[Any]) -> None:
        """Takes events to the end. Raises TooDeepError, and whatever error the parser raises."""
        for event in events:
            if isinstance(event, yaml.ScalarEvent):
                self._scalar(event)
            elif isinstance(event, yaml.MappingStartEvent):
                self._open(event, {})
            elif isinstance(event, yaml.SequenceStartEvent):
                self._open(event, [])
            elif isinstance(event, yaml.CollectionEndEvent):
                self._stack.pop()
            elif isinstance(event, yaml.AliasEvent):
                self._refuse(event, f"*{event.anchor} repeats another place of the file", "write it out", "no-anchors")
                self.incomplete.add(self.open_path[:2])
                self._place(event, None)
            elif isinstance(event, yaml.DocumentStartEvent):
                self._documents += 1
                if self._documents == 2:
                    self._refuse(event, "a second document begins here", "keep one document per file", "one-document")
            if self._documents > 1:
                return

    def _refuse(self, event: Any, what: str, right: str, rule: str) -> None:
        if len(self.problems) > self._most:
            return
        if len(self.problems) == self._most:
            what = f"{what}; more is wrong further down"
        mark = event.start_mark
        self.problems.append(Problem(Position(self._file, mark.line + 1, mark.column + 1), what, right, rule))

    def _refuse_dress(self, event: Any) -> None:
        if event.anchor is not None:
            self._refuse(event, f"&{event.anchor} names this place for repetition", "leave it out", "no-anchors")
        if event.tag is not None:
            self._refuse(event, "an explicit tag stands here", "leave it out, or put quotes around the word", "no-tags")

    def _scalar(self, event: Any) -> None:
        self._refuse_dress(event)
        if event.style == '"' and UNPRINTABLE.search(event.value):
            self._refuse(
                event, "a backslash makes an invisible character here", "leave it out", "no-control-characters"
            )
        plain = not event.style  # None from one parser, an empty word from the other
        if plain:
            self._refuse_cut(event)
        frame = self._stack[-1] if self._stack else None
        if frame and isinstance(frame.data, dict) and frame.key is None:
            self._begin_pair(frame, event, plain)
        else:
            self._place(event, meaning(event.value) if plain and event.tag is None else event.value)

    def _refuse_cut(self, event: Any) -> None:
        """A text in quotes that are none, and one of which "#2 …" behind a space is taken for a comment."""
        word, end = event.value, event.end_mark
        if len(word) > 1 and ((word[0] in _CURLY and word[-1] in _CURLY) or _opened_alone(word)):
            what, right = (
                "curly quotes are signs of the text like any other",
                "type straight ones, \"…\" or '…', or none",
            )
            self._refuse(event, what, right, "syntax")
        if end.line < len(self._lines) and (cut := _NUMBER_SIGN.match(self._lines[end.line], end.column)):
            what = f"from {cut[1]} on this is a comment, no part of the text"
            right = "put quotes around the whole text, or a space behind the # of a comment"
            self._refuse(event, what, right, "syntax")

    def _begin_pair(self, frame: _Frame, event: Any, plain: bool) -> None:
        """Takes a key. Its word is the key, whatever it would mean as a value."""
        key = event.value
        path = (*frame.path, key)
        frame.key = key
        frame.key_kept = False
        if plain and key == "<<":
            self._refuse(event, "<< merges another place into this one", "write it out", "no-merge-keys")
            self.incomplete.add(frame.path[:2])
        elif plain and key == "":
            self._refuse(event, "a key is missing before the colon", "write `key: value`", "key-is-a-word")
        elif frame.kept and path in self.places.keys:
            first = self.places.key(path)
            what = f"`{key}` stands here for the second time; the first is on line {first.line}"
            both = "put what stands under both under one of them" if len(path) == 1 else "keep one of the two"
            self._refuse(event, what, both, "duplicate-key")
        else:
            frame.key_kept = True
            if frame.kept:
                self.places.keys[path] = (event.start_mark.line + 1, event.start_mark.column + 1)

    def _place(self, event: Any, value: Any) -> tuple[Path, bool]:
        """Puts a value where it belongs. Returns its path and whether it is kept."""
        mark = (event.start_mark.line + 1, event.start_mark.column + 1)
        if not self._stack:
            self.data = value
            self.places.values[self._prefix] = mark
            return self._prefix, True
        frame = self._stack[-1]
        if isinstance(frame.data, list):
            path, kept = (*frame.path, len(frame.data)), frame.kept
            frame.data.append(value)
        elif frame.key is None:
            self._refuse(event, "a key must be a word", "write `key: value`", "key-is-a-word")
            frame.key = ""
            frame.key_kept = False
            return frame.path, False
        else:
            path, kept = (*frame.path, frame.key), frame.kept and frame.key_kept
            if frame.key_kept:
                frame.data[frame.key] = value
            frame.key = None
        if kept:
            self.places.values[path] = mark
        return path, kept

    def _open(self, event: Any, data: dict[str, Any] | list[Any]) -> None:
        self._refuse_dress(event)
        if len(self._stack) >= DEPTH:
            raise TooDeepError(event.start_mark)
        path, kept = self._place(event, data)
        self._stack.append(_Frame(data, path, kept))
