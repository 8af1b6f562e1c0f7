"""Broken sample files: every flaw is found at its place, and nothing else is.

Each file says in its last lines what is to be found in it: ``# expect line:column rule``, with the file
before the line where a flaw shows in a file of the sound book.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from faulttree.book import BookReading

DATA = Path(__file__).parent / "data"
SAMPLES = sorted([*(DATA / "broken").glob("*.yaml"), *(DATA / "overlays").glob("*.yaml")])


def _expected(text: str) -> list[str]:
    return sorted(line.removeprefix("# expect ") for line in text.splitlines() if line.startswith("# expect "))


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: str(path.stem))
def test_a_broken_file_is_reported_flaw_by_flaw(sample: Path, read_with: Callable[..., BookReading]) -> None:
    """One run over a broken file gives exactly the flaws that it announces, and no book."""
    text, overlay = sample.read_text("utf-8"), sample.parent.name == "overlays"
    reading = read_with(text, overlay=overlay)
    name = "overlay/demo/more.yaml:" if overlay else "demo/more.yaml:"
    found = sorted(f"{str(p.position).removeprefix(name)} {p.rule}" for p in reading.problems)
    assert (found, reading.book) == (_expected(text), None)


def test_every_sample_expects_something() -> None:
    """A sample that announces no flaw would prove nothing."""
    assert [path.name for path in SAMPLES if not _expected(path.read_text("utf-8"))] == []


def test_ten_mistakes_are_told_in_one_run(read_with: Callable[..., BookReading]) -> None:
    """A file with more than ten different mistakes has them all told at once, by line."""
    text = (DATA / "broken" / "ten-mistakes.yaml").read_text("utf-8")
    problems = read_with(text).problems
    lines = [p.position.line for p in problems]
    assert (len({p.rule for p in problems}) >= 10, lines == sorted(lines)) == (True, True)


JARGON = ("pydantic", "Input", "input", "valid string", "Field", "type=", "NoneType", "validation", "tuple", "dict")


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: str(path.stem))
def test_messages_are_in_plain_words(sample: Path, read_with: Callable[..., BookReading]) -> None:
    """No message speaks the language of the validation library or of Python."""
    problems = read_with(sample.read_text("utf-8"), overlay=sample.parent.name == "overlays").problems
    assert [str(p) for p in problems if any(word in f"{p.what}; {p.right}" for word in JARGON)] == []
