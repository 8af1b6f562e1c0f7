"""The form of a go-to chart: by `--as`, else by the name of the file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from faulttree_cli.main import main

CHART = ("chart", "selector-stiff", "--family", "power-pack", "--steps", "3")


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))


@pytest.mark.parametrize(
    ("words", "name", "begins"),
    [
        ((), "chart.html", b"<!DOCTYPE html>"), ((), "chart.PDF", b"%PDF"), (("--as", "markdown"), "chart.txt", b"# "),
        (("--json",), "chart.pdf", b"{"),
    ],
)  # fmt: skip
def test_the_form_is_that_which_is_said_else_that_of_the_name(
    words: tuple[str, ...], name: str, begins: bytes, tmp_path: Path
) -> None:
    assert main([*CHART, *words, "--out", str(tmp_path / name)]) == 0
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_a_name_that_tells_no_form_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Before minutes of work, with what would be right; nothing is written."""
    assert main([*CHART, "--out", str(tmp_path / "chart.txt")]) == 2
    assert "name it .pdf, .html, .md or .json, or say which with --as" in capsys.readouterr().err
    assert list(tmp_path.glob("chart*")) == []


def test_json_comes_on_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*CHART, "--as", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["paper"], told["symptom"]["id"], len(told["steps"])) == ("chart", "selector-stiff", 3)
