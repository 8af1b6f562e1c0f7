"""`faulttree --version`: program and shipped knowledge, also where the knowledge cannot be used."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from faulttree import __version__
from faulttree_cli import places
from faulttree_cli.main import main

Version = Callable[[], list[str]]


@pytest.fixture
def version(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Version:
    """What it prints, with nothing on stderr and status 0."""

    def call() -> list[str]:
        status = main(["--version"])
        out, err = capsys.readouterr()
        assert (status, err) == (0, "")
        return out.splitlines()

    return call


def test_it_names_the_knowledge_as_records_do(version: Version) -> None:
    """The book's own version, and the beginning of the digest that stands on a record."""
    book = places.load("power-pack", [], [])
    program, *knowledge = version()
    assert program == f"faulttree {__version__}"
    assert f"knowledge {book.version} of power-pack, {book.digest[:19]}" in knowledge


def test_it_names_the_file_of_the_settings(version: Version, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Whether or not there is one."""
    file = tmp_path / "settings.toml"
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(file))
    assert version()[-1] == f"settings {file} (not there: nothing is set)"
    file.write_text("", encoding="utf-8")
    assert version()[-1] == f"settings {file}"


def test_broken_knowledge_is_told(version: Version, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The program's version is there all the same, and the first thing that is wrong with its place."""
    (tmp_path / "gear").mkdir()
    (tmp_path / "gear" / "all.yaml").write_text("family: [", encoding="utf-8")
    monkeypatch.setattr(places, "shipped_book", lambda: tmp_path)
    program, told, _ = version()
    assert program == f"faulttree {__version__}"
    assert told.startswith(f"knowledge of gear cannot be used: {tmp_path / 'gear' / 'all.yaml'}:1:")


def test_missing_knowledge_is_told(version: Version, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An empty folder."""
    monkeypatch.setattr(places, "shipped_book", lambda: tmp_path)
    assert version()[1:-1] == [f"knowledge cannot be used: there is none in {tmp_path}"]
