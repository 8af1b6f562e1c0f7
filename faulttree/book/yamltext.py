"""One YAML file to plain data and the place of everything in it. Never raises for bad data.

A syntax error costs the entry that it stands in, not the file: reading goes on at the next entry, so that
one run finds as much as it can. Files read last are kept: families share some, cases and lessons are read beside the
book, and an overlay is tried over a book that stays as it is.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from faulttree.book.files import SIZE
from faulttree.book.positions import Position, Problem
from faulttree.book.yamlbuild import DEPTH, MOST_TOLD, UNPRINTABLE, Builder, Path, Places, TooDeepError
from faulttree.book.yamlwords import trouble_of
from faulttree.kept import Latest

_RESUMPTIONS = 50
_LOADER: Any = getattr(yaml, "CLoader", yaml.SafeLoader)
_WORD = re.compile(r"[a-z0-9]+(?:[-.@][a-z0-9]+)*")
_TOP_KEY = re.compile(r"[A-Za-z\"']")
_ODD_SPACE = re.compile("[\xa0\u2000-\u200a\u202f\u205f\u3000]")
"""Spaces that do not break, or are of another width: they come with text copied from elsewhere."""

_ODD_TOLD = 100
"""Lines with such spaces that are named: with the first of them anybody looks for a way to replace them all."""

_BREAK = re.compile(r"\r\n|\r|\n")


@dataclass(slots=True)
class YamlFile:
    """A file as read: ``data`` by section, where everything stands, what is wrong.

    ``lost`` are the words of the parts that could not be read; what they would have defined is unknown.
    ``incomplete`` are the paths of entries of which a part was refused, ``size`` the bytes it was read from. Whoever
    asks for the same file again gets this again, so nobody changes it.
    """

    file: str
    size: int = 0
    data: dict[str, Any] = field(default_factory=dict)
    places: Places = field(default_factory=lambda: Places(""))
    problems: list[Problem] = field(default_factory=list)
    lost: set[str] = field(default_factory=set)
    incomplete: set[Path] = field(default_factory=set)


_AT_ONCE = threading.Lock()
_KEPT: Latest[tuple[str, bytes, Any], YamlFile] = Latest(500, size=lambda read: read.size, room=4_000_000)
"""Files read last, by name, bytes and parser: more than twice as much as is shipped."""


def read_yaml(content: bytes, file: str) -> YamlFile:
    """Reads the bytes of one file, if it was not read of late. ``file`` is the name to report."""
    key = (file, content, _LOADER)
    with _AT_ONCE:
        read = _KEPT.get(key)
    if read is None:
        read = _read(content, file)
        with _AT_ONCE:
            _KEPT.put(key, read)
    return read


def forget() -> None:
    """Lets go of the files that were kept: for those who measure how long reading takes."""
    with _AT_ONCE:
        _KEPT.clear()


def _read(content: bytes, file: str) -> YamlFile:
    result = YamlFile(file, len(content), places=Places(file))
    if len(content) > SIZE:
        _report(result, 0, 0, f"the file is larger than {SIZE // 1000} kB", "split it", "file-size")
        result.lost |= set(_WORD.findall(content.decode("utf-8", "replace")))
        return result
    text = _decoded(content, result)
    if text is not None and _printable(text, result):
        _read_pieces(_with_plain_spaces(text, result), result)
    return result


def _report(result: YamlFile, line: int, column: int, what: str, right: str, rule: str) -> None:
    result.problems.append(Problem(Position(result.file, line + 1, column + 1), what, right, rule))


def _decoded(content: bytes, result: YamlFile) -> str | None:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start].decode("utf-8", "replace")
        lines = _BREAK.split(before)
        what = "the file is not in UTF-8 from here on"
        _report(result, len(lines) - 1, len(lines[-1]), what, "save it as UTF-8", "utf-8")
        result.lost |= set(_WORD.findall(content.decode("utf-8", "replace")))
        return None


def _printable(text: str, result: YamlFile) -> bool:
    found = UNPRINTABLE.search(text)
    if found is None:
        return True
    lines = _BREAK.split(text[: found.start()])
    what = f"an invisible character (U+{ord(found[0]):04X}) stands here"
    _report(result, len(lines) - 1, len(lines[-1]), what, "delete it", "no-control-characters")
    result.lost |= set(_WORD.findall(text))
    return False


def _with_plain_spaces(text: str, result: YamlFile) -> str:
    """The text with spaces of other kinds made plain ones; each line with some (up to ``_ODD_TOLD``)
    is reported, and read all the same."""
    if _ODD_SPACE.search(text):
        told = 0
        for number, line in enumerate(_BREAK.split(text)):
            found = _ODD_SPACE.search(line.partition(" #")[0])
            if found is not None and told < _ODD_TOLD:
                told += 1
                what = f"this space (U+{ord(found[0]):04X}) is no plain one, though it looks alike"
                _report(result, number, found.start(), what, "type a space in its place", "no-control-characters")
    return _ODD_SPACE.sub(" ", text)


@dataclass(slots=True)
class _Piece:
    """Lines ``start`` to ``stop`` of a file; entries of ``section``, or whole sections if there is none."""

    start: int
    stop: int
    section: str | None = None


def _read_pieces(text: str, result: YamlFile) -> None:
    lines = _BREAK.split(text)
    pieces = [_Piece(0, len(lines))]
    for _ in range(_RESUMPTIONS):
        if not pieces:
            return
        pieces.extend(_read_piece(lines, pieces.pop(), result))
    for piece in pieces:
        result.lost |= set(_words(lines, piece.start, piece.stop))


def _words(lines: list[str], start: int, stop: int) -> Iterator[str]:
    for line in lines[start:stop]:
        yield from _WORD.findall(line)


def _read_piece(lines: list[str], piece: _Piece, result: YamlFile) -> list[_Piece]:
    """Reads one piece; after an error, returns the pieces from which to go on, the nearest last."""
    prefix: Path = () if piece.section is None else (piece.section,)
    builder = Builder(result.file, prefix, result.places, max(MOST_TOLD - len(result.problems), 0), lines)
    if piece.section is not None:
        builder.places.values.setdefault(prefix, (piece.start + 1, 1))
    text = "\n" * piece.start + "\n".join(lines[piece.start : piece.stop]) + "\n"
    after = None
    try:
        builder.read(yaml.parse(text, Loader=_LOADER))
    except TooDeepError as error:
        what = f"more than {DEPTH} levels lie within each other"
        _report(result, error.line, error.column, what, "write it flatter", "depth")
        after = error.line
    except yaml.MarkedYAMLError as error:
        trouble = trouble_of(error, lines)
        _report(result, trouble.line, trouble.column, trouble.what, trouble.right, "syntax")
        after = trouble.line
    except (yaml.YAMLError, ValueError, OverflowError) as error:  # the latter two from chr() in the pure parser
        _report(result, piece.start, 0, "this is not YAML that can be read", str(error).split("\n")[0], "syntax")
        after = piece.stop
    result.problems.extend(builder.problems)
    result.incomplete |= builder.incomplete
    if after is None:
        _take(builder, piece, result)
        return []
    return _resume(lines, piece, builder, after, result)


def _resume(lines: list[str], piece: _Piece, builder: Builder, after: int, result: YamlFile) -> list[_Piece]:
    after = min(max(after, piece.start), len(lines) - 1)
    section, indent = _around(lines, after)
    entry_path = builder.open_path[:2]
    touched: set[Path] = {path for path, mark in result.places.keys.items() if len(path) == 2 and mark[0] == after + 1}
    if len(entry_path) == 2:
        touched.add(entry_path)
    elif section is not None and _indent(lines[after]) > indent:
        touched |= _holding(result.places, section, after)
    first = min((result.places.key(path).line - 1 for path in touched), default=after)
    for path in touched:
        _drop(builder.data, path if piece.section is None else path[1:])
    if piece.section is None and isinstance(builder.data, dict):
        # What begins on the wrong line in place of a section's entries is told with that line, not once more.
        for name in [name for name in builder.data if builder.places.values.get((name,), (0, 0))[0] == after + 1]:
            del builder.data[name]
    _take(builder, piece, result)
    go_on = [_Piece(top, piece.stop) for top in _next_top(lines, after + 1, piece) if piece.section is None]
    section_end = go_on[0].start if go_on else piece.stop
    entry = _next_entry(lines, after + 1, section_end, indent)
    result.lost |= set(_words(lines, min(first, after), entry if entry is not None else section_end))
    if entry is not None and section is not None:
        go_on.append(_Piece(entry, section_end, section))
    return go_on


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _holding(places: Places, section: str, at: int) -> set[Path]:
    """The entry of a section that a line further in than an entry's key belongs to."""
    before = [(mark, path) for path, mark in places.keys.items() if len(path) == 2 and path[0] == section]
    return {path for _, path in sorted(before)[-1:] if places.key(path).line <= at}


def _around(lines: list[str], at: int) -> tuple[str | None, int]:
    """The section that line ``at`` lies in and the indentation of the section's entries."""
    for top in range(at, -1, -1):
        if _TOP_KEY.match(lines[top]):
            name = lines[top].split(":")[0].strip().strip("\"'")
            for line in lines[top + 1 :]:
                bare = line.strip()
                if bare and not bare.startswith("#"):
                    return name, len(line) - len(line.lstrip(" "))
            return name, 0
    return None, 0


def _next_top(lines: list[str], start: int, piece: _Piece) -> list[int]:
    return [n for n in range(start, piece.stop) if _TOP_KEY.match(lines[n]) and ":" in lines[n]][:1]


def _next_entry(lines: list[str], start: int, stop: int, indent: int) -> int | None:
    if indent == 0:
        return None
    for number in range(start, stop):
        line = lines[number]
        if line[:indent].strip() == "" and _TOP_KEY.match(line[indent:]) and ":" in line:
            return number
    return None


def _drop(data: Any, names: Path) -> None:
    """Takes a half-read entry out again."""
    for name in names[:-1]:
        data = data.get(name) if isinstance(data, dict) else None
    if isinstance(data, dict):
        data.pop(names[-1], None)


def _take(builder: Builder, piece: _Piece, result: YamlFile) -> None:
    """Joins what a piece gave to what was read before."""
    if builder.data is None:
        return
    if not isinstance(builder.data, dict):
        what = "a knowledge file is a mapping of sections"
        _report(result, piece.start, 0, what, "begin with a section such as `faults:`", "sections")
        return
    if piece.section is None:
        result.data.update({name: entries for name, entries in builder.data.items() if name not in result.data})
        return
    section = result.data.setdefault(piece.section, {})
    if isinstance(section, dict):
        section.update({name: entry for name, entry in builder.data.items() if name not in section})
