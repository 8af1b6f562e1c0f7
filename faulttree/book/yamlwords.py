"""What a YAML library says about a syntax error, in words for people who do not know YAML's grammar.

Both of PyYAML's parsers are served; their messages differ, hence several fragments per entry.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

_UNCLOSED_BRACKET = ("expected ',' or '}'", "expected ',' or ']'")
_LINED_UP = ("did not find expected key", "expected <block end>", "expected '-' indicator")
_QUOTED = ("quoted scalar",)
_NO_KEY = "-\"'[{|>&*!%@`"
NO_COLON = (
    "a key stands here without its colon, or a text that has a colon in it goes on below",
    "write `key: value`, or put quotes around the text",
)
_IN_BRACKET = re.compile(r"\{[^{}]*:\s[^{}]*\s(\S+)$")
NO_COMMA = (
    "within a bracket a text has a colon in it, or a comma is missing before",
    "part what stands in the bracket by commas, or put quotes around the text",
)
_APOSTROPHE = (
    "an apostrophe ends the text in single quotes here",
    "put double quotes around the text, or write the apostrophe twice",
)
_IN_SINGLE = re.compile(r"(?:^|[\s\[{,:])'(?:[^']|'')*\w(?P<ends>')\w")
_QUOTE = ("the text in double quotes ends here already", "put single quotes around a text with double quotes in it")
_IN_DOUBLE = re.compile(r'(?:^|[\s\[{,:])"[^"\\]*(?P<ends>")\w')
_COMMENT = (
    "from # on this is a comment, so that the bracket opened here is not closed",
    "close it before the #",
)
_OPENED_BEFORE = (*_UNCLOSED_BRACKET, "unexpected end of stream", "expected ':'")

_PLAIN: tuple[tuple[tuple[str, ...], str, str], ...] = (
    (
        _UNCLOSED_BRACKET,
        "a bracket is opened here and not closed where it should be, or a comma is missing",
        "close it with } or ], part its members by commas, and write a quote within quotes twice",
    ),
    (
        ("mapping values are not allowed",),
        "a second colon stands on this line, or a key is indented below a value",
        "put quotes around a text that has a colon in it, or indent the line like the one above",
    ),
    (
        ("sequence entries are not allowed",),
        "a list begins with a dash in the middle of a line",
        "put each dash on a line of its own, or write [first, second]",
    ),
    (
        _LINED_UP,
        "this does not line up with the lines above, or a value goes on after its end",
        "indent what belongs together alike, and put one `key: value` on a line",
    ),
    (
        ("expected ':'",),
        "a key stands here without its colon, or without a space behind that",
        "write `key: value`",
    ),
    (
        ("escape character", "escape sequence"),
        "a backslash stands between double quotes before a letter that has no such meaning",
        "use single quotes around a text with backslashes",
    ),
    (
        ("undefined tag handle", "while scanning a tag", "while parsing a tag"),
        "a word begins with an exclamation mark",
        "put quotes around it",
    ),
    (
        ("while scanning an alias", "while scanning an anchor"),
        "a word begins with * or &",
        "put quotes around it",
    ),
    (
        ("comment or line break", "chomping or indentation"),
        "words follow | or > on the same line",
        "begin the text on the next line, indented",
    ),
    (
        ("directive",),
        "a line begins with %",
        "put quotes around the word",
    ),
)


@dataclass(frozen=True, slots=True)
class SyntaxTrouble:
    """A syntax error: its line and column from 0, after which reading may go on, and words."""

    line: int
    column: int
    what: str
    right: str


def trouble_of(error: yaml.MarkedYAMLError, lines: list[str]) -> SyntaxTrouble:
    """Puts an error of the parser into plain words.

    An unclosed quote or bracket is noticed only further down; it is reported where it was opened, and
    reading may go on right after that line.
    """
    said = f"{error.context or ''}: {error.problem or ''}"
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    opened = error.context_mark
    if _is_in(_UNCLOSED_BRACKET, said) and opened and opened.line == line and _character(lines, line, column) == ":":
        said = "mapping values are not allowed"
    if opened and _is_in(_OPENED_BEFORE, said):
        line, column = opened.line, opened.column
    if line >= len(lines) and "flow node" in said:
        # A bracket that nothing follows any more; there is no line to show behind the last.
        line = max((n for n, text in enumerate(lines) if text.partition("#")[0].strip()), default=0)
        column, said = max(len(lines[line].rstrip()) - 1, 0), _UNCLOSED_BRACKET[0]
    told = _ended_by_a_sign(lines, line, column) if _is_in((*_OPENED_BEFORE, *_LINED_UP), said) else None
    if told is not None:
        return told
    if "mapping values are not allowed" in said and (word := _IN_BRACKET.search(lines[line][:column])):
        return SyntaxTrouble(line, word.start(1), f"{NO_COMMA[0]} `{word[1]}`", NO_COMMA[1])
    without = _without_colon(lines, line, column) if "mapping values are not allowed" in said else None
    if without is not None:
        return SyntaxTrouble(without, len(lines[without]) - len(lines[without].lstrip()), *NO_COLON)
    what, right = _words(said, _character(lines, line, column))
    return SyntaxTrouble(line, column, what, right)


def _ended_by_a_sign(lines: list[str], line: int, column: int) -> SyntaxTrouble | None:
    """What ended before its end: a text in quotes by one within it, a bracket by a comment."""
    text = lines[line] if line < len(lines) else ""
    for pattern, words in ((_IN_SINGLE, _APOSTROPHE), (_IN_DOUBLE, _QUOTE)):
        quoted = pattern.search(text)
        if quoted is not None:
            return SyntaxTrouble(line, quoted.start("ends"), *words)
    comment = text.find(" #", column)
    if comment >= 0 and text[column : column + 1] in ("[", "{") and not set("]}") & set(text[column:comment]):
        return SyntaxTrouble(line, column, *_COMMENT)
    return None


def _without_colon(lines: list[str], line: int, column: int) -> int | None:
    """The line above a key that cannot be one, where that is the first below its own key and has no colon: for the
    parser it is a text that goes on, and the mistake is the next line's."""
    written = [n for n in range(min(line, len(lines))) if lines[n].strip() and not lines[n].lstrip().startswith("#")]
    if len(written) < 2 or ":" in lines[line][:column]:
        return None
    opening, above = (lines[n].strip() for n in written[-2:])
    return written[-1] if opening.endswith(":") and ":" not in above and above[0] not in _NO_KEY else None


def _is_in(fragments: tuple[str, ...], said: str) -> bool:
    return any(fragment in said for fragment in fragments)


def _character(lines: list[str], line: int, column: int) -> str:
    return lines[line][column : column + 1] if line < len(lines) else ""


def _words(said: str, character: str) -> tuple[str, str]:
    if "tab character" in said or ("cannot start any token" in said and character == "\t"):
        return "a tab stands where spaces belong", "indent with spaces only"
    if "cannot start any token" in said:
        percent = "; 95 % is written 0.95" if character == "%" else ""
        return f"a word begins with {character}", f"put quotes around it{percent}"
    if "end of stream" in said and _is_in(_QUOTED, said):
        return "a quote is opened here and never closed", "close it with the same kind of quote"
    for fragments, what, right in _PLAIN:
        if _is_in(fragments, said):
            return what, right
    return "this is not YAML that can be read", f"see what stands before and after it ({said.strip(': ')})"
