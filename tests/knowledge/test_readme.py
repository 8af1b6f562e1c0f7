"""What the README of the knowledge shows is what the reader takes, the checker passes and the ranking has."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest

from faulttree.book import read_book
from faulttree.book.model import Book
from faulttree.book.sections import CASES, DRILLS, SECTIONS
from faulttree.workshop.checking import read
from faulttree.workshop.regression import CaseRunner
from faulttree_cli.main import main

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge"
README = (KNOWLEDGE / "README.md").read_text(encoding="utf-8")

FAMILY = "electromechanical"


def section(title: str) -> str:
    return README.partition(f"## {title}\n")[2].partition("\n## ")[0]


def blocks(text: str) -> list[str]:
    return re.findall(r"```(?:yaml)?\n(.*?)```", text, re.DOTALL)


def overlay(at: Path, knowledge: str, cases: str) -> Path:
    """An overlay of a file of knowledge and one of cases."""
    home = at / "ours" / FAMILY
    home.mkdir(parents=True)
    (home / "new.yaml").write_text(knowledge, encoding="utf-8")
    (home / "new.cases.yaml").write_text(cases, encoding="utf-8")
    return at / "ours"


def misses_of_its_own(ours: Path) -> Iterator[str]:
    """What form, substance, and the overlay's cases say against it."""
    folders = [KNOWLEDGE, ours]
    problems, cases = read(folders, FAMILY)
    yield from map(str, problems)

    def load(fitted: tuple[str, ...]) -> Book:
        book = read_book(folders, FAMILY, fitted).book
        assert book is not None
        return book

    own = [case for case in cases if case.position.file.startswith(str(ours))]
    assert own
    for case in own:
        yield from CaseRunner(load).run(case).misses


def test_the_model_entry_is_sound_and_its_case_comes_out(tmp_path: Path) -> None:
    """As an overlay on the shipped book, with the case in its file."""
    (entry,) = blocks(section("A model entry"))
    knowledge, _, cases = entry.partition("\ncases:")
    ours = overlay(tmp_path, knowledge + "\n", f"cases:{cases}")
    assert list(misses_of_its_own(ours)) == []


def test_the_cause_of_ten_minutes_is_sound_and_in_the_next_ranking(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The two files as they stand on the page, then its commands: among the causes at once, leading once it was looked
    at. The check of all cases is left out; it takes some ten seconds."""
    knowledge, cases, commands = blocks(section("Teach it a new cause in ten minutes"))
    ours = overlay(tmp_path, knowledge, cases)
    assert list(misses_of_its_own(ours)) == []
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    check, squawk, answered = (shlex.split(line)[1:] for line in commands.replace("\\\n", " ").splitlines())
    assert check == ["knowledge", "check", "ours"]
    assert main(squawk) == 0
    assert "Up relay: loose in its socket" in capsys.readouterr().out.partition("Next:")[0]
    assert main(answered) == 0
    leads = capsys.readouterr().out.partition("Likely causes:\n")[2].splitlines()[0]
    assert "Up relay: loose in its socket" in leads


def test_every_section_is_described() -> None:
    """The table has a row for each section that the reader knows, and no other."""
    rows = set(re.findall(r"^\| `([a-z]+)` \|", README, re.MULTILINE))
    assert rows == {CASES, *SECTIONS, *DRILLS}
