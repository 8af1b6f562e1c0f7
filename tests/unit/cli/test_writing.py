"""Words in a window are broken between words, what goes on standing below where its line began."""

from __future__ import annotations

import pytest

from faulttree_cli.writing import at_words


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("one two three", ["one two", "three"]),
        ("- one two three", ["- one", "  two", "  three"]),
        ("short\n\nshort", ["short", "", "short"]),
        ("sha256:0123456789", ["sha256:0123456789"]),
    ],
)
def test_lines_are_broken_between_words(text: str, lines: list[str]) -> None:
    """A point of a list stays one; a word longer than the window stays whole."""
    assert at_words(text, 8).split("\n") == lines
