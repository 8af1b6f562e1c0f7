"""Syntax errors in plain words."""

from __future__ import annotations

import pytest

from faulttree.book.yamltext import read_yaml

JARGON = ("token", "mapping value", "block", "scalar", "node", "context", "flow", "scanning", "parsing")


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("a:\n\tb: 1\n", "tab"),
        ("a:\n  b: 1\n\tc: 2\n", "tab"),
        ("a: 'b\n", "quote"),
        ('a: "b\n', "quote"),
        ("a: {b: 1\nc: 2\n", "bracket"),
        ("a: [", "bracket"),
        ("a: {\n\n", "bracket"),
        ("a: [1, 2\nc: 2\n", "bracket"),
        ("a: b: c\n", "colon"),
        ("a: {b: c: d}\n", "colon"),
        ("a: - b\n", "dash"),
        ("a:\n  b: 1\n c: 2\n", "line up"),
        ("a: 'b' c\n", "line up"),
        ("a: 1\nb\nc: 2\n", "colon"),
        ('a: "\\q"\n', "backslash"),
        ("a: @b\n", "@"),
        ("a: %b\n", "%"),
        ("a: !x!y b\n", "exclamation"),
        ("a: |b\n  c\n", "|"),
    ],
)
def test_syntax_errors_are_told_without_jargon(text: str, word: str) -> None:
    """What is wrong is named by what stands on the screen, not by the parser's terms."""
    (problem, *_) = read_yaml(text.encode(), "t.yaml").problems
    assert (problem.rule, word in problem.what) == ("syntax", True)
    assert not [term for term in JARGON if term in problem.what + problem.right]


@pytest.mark.parametrize("end", ["", "\n", "\n\n# the end\n"])
def test_a_bracket_that_nothing_follows_is_told_where_it_stands(end: str) -> None:
    """And not behind the last line."""
    (problem,) = read_yaml(f"a:\n  b: {{c: [{end}".encode(), "t.yaml").problems
    assert (problem.position.line, problem.position.column) == (2, 10)
