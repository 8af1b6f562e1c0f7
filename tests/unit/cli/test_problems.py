"""Messages about knowledge files: the line with its caret, and the forms for people, editors and programs."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from rich.cells import cell_len

from faulttree.workshop.rules import all_texts
from faulttree_cli.main import main
from faulttree_cli.screens.problems import excerpt, explained

Run = Callable[..., tuple[int, str, str]]

DEMO = Path(__file__).parents[1] / "book" / "data" / "sound"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: str) -> tuple[int, str, str]:
        status = main(words)
        out, err = capsys.readouterr()
        return status, out, err

    return call


@pytest.fixture
def overlay(tmp_path: Path) -> Path:
    """An overlay on the sample book with one error and one piece of advice."""
    (tmp_path / "demo").mkdir()
    text = "components:\n  bus: {amends: true, nam: Bus}\n"
    (tmp_path / "demo" / "more.yaml").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("line", "column", "shown"),
    [
        ("rate: -1", 7, "rate: -1\n      ^"),
        ("\trate: -1", 1, "    rate: -1\n^"),
        ("\trate: -1", 2, "    rate: -1\n    ^"),
        ("a:\tb", 4, "a:  b\n    ^"),
        ("名: -1", 4, "名: -1\n    ^"),
        ("e\u0301: -1", 5, "e\u0301: -1\n   ^"),
        ("a\u200bb: \x1b[2J", 2, "a\u200bb: \\x1b[2J\n ^"),
        ("short", 40, "short\n     ^"),
    ],
)
def test_the_caret_stands_under_the_column(line: str, column: int, shown: str) -> None:
    """Whatever width the signs before it have; what acts on a terminal is written out."""
    assert "\n".join(excerpt(line, column)) == shown


@pytest.mark.parametrize("column", [1, 50, 100, 150, 200])
def test_a_long_line_is_cut_around_the_caret(column: int) -> None:
    """It fits, and the caret stands under the sign that it stood under."""
    line = "".join(chr(ord("a") + i % 26) for i in range(200))
    text, caret = excerpt(line, column, 60)
    assert (cell_len(text) <= 60, text[len(caret) - 1]) == (True, line[column - 1])


def test_people_get_line_and_caret(run: Run, overlay: Path) -> None:
    """The message, the line of the file, the caret, and how many there are."""
    status, out, _ = run("knowledge", "check", str(DEMO), str(overlay))
    file = overlay / "demo" / "more.yaml"
    first = f"{file}:2:23: error: `nam` is not known here; did you mean `name`? [unknown-field]"
    assert (status, out.splitlines()[:3]) == (1, [first, "      bus: {amends: true, nam: Bus}", " " * 26 + "^"])
    assert out.splitlines()[-1].startswith("demo: 1 error, no pieces of advice;")


def test_a_family_that_there_is_not_is_a_slip_of_the_command(run: Run) -> None:
    """Status 2, as for any word of the command, with the one that is meant."""
    status, _, err = run("knowledge", "check", str(DEMO), "--family", "demmo")
    assert (status, "did you mean `demo`" in err) == (2, True)


def test_a_folder_of_an_overlay_that_is_misspelt_is_told_alone(run: Run, tmp_path: Path) -> None:
    """What follows of it would lead astray; and files of another ending are named."""
    (tmp_path / "electromechnical").mkdir()
    (tmp_path / "electromechnical" / "x.yaml").write_text("checks: {door-look: {amends: true, minutes: 6}}\n", "utf-8")
    status, out, _ = run("knowledge", "check", str(tmp_path), "--as", "lines")
    assert (status, len(out.splitlines())) == (1, 1)
    assert "did you mean `electromechanical`" in out
    (tmp_path / "electromechnical").rename(tmp_path / "electromechanical")
    (tmp_path / "electromechanical" / "x.yaml").rename(tmp_path / "electromechanical" / "x.yml")
    status, _, err = run("knowledge", "check", str(tmp_path))
    assert (status, "let it end in .yaml" in err) == (2, True)


def test_editors_get_one_line_each(run: Run, overlay: Path) -> None:
    """In the form that they take apart, and nothing else."""
    status, out, _ = run("knowledge", "check", str(DEMO), str(overlay / "demo" / "more.yaml"), "--as", "lines")
    assert (
        status,
        [bool(re.fullmatch(r".+:\d+:\d+: (error|advice): .+ \[[a-z-]+\]", o)) for o in out.splitlines()],
    ) == (
        1,
        [True],
    )


def test_programs_get_the_parts(run: Run, overlay: Path) -> None:
    """Beside the messages by family, which stay as they were."""
    _, out, _ = run("knowledge", "check", str(DEMO), str(overlay), "--json")
    said = json.loads(out)
    (message,) = said["families"]["demo"]["problems"]
    (found,) = said["found"]
    assert message.endswith("more.yaml:2:23: `nam` is not known here; did you mean `name`? [unknown-field]")
    assert (found["line"], found["column"], found["severity"], found["rule"]) == (2, 23, "error", "unknown-field")


@pytest.mark.parametrize("rule", all_texts())
def test_every_rule_can_be_looked_up(run: Run, rule: str) -> None:
    """What it wants and why, within eighty columns but for examples."""
    status, out, _ = run("knowledge", "check", "--explain", rule)
    told = [line for line in out.splitlines() if not line.startswith("    ")]
    assert (status, len(told) > 3, [line for line in told if len(line) > 80]) == (0, True, [])


def test_examples_are_shown_wrong_and_right() -> None:
    """As they would stand in a file."""
    lines = explained(all_texts()["range"])
    assert lines[lines.index("wrong:") + 2] == "      look-at-bus: {amends: true, detects: 95}"


def test_a_rule_that_there_is_not(run: Run) -> None:
    """The nearest is named."""
    status, _, err = run("knowledge", "check", "--explain", "rnage")
    assert (status, "did you mean `range`?" in err) == (2, True)


def test_a_file_where_nobody_reads_it(run: Run, tmp_path: Path) -> None:
    """The folders that are read are named."""
    (tmp_path / "electro").mkdir()
    (tmp_path / "electro" / "more.yaml").write_text("{}", encoding="utf-8")
    status, _, err = run("knowledge", "check", str(tmp_path / "electro" / "more.yaml"))
    assert (status, "lies in a folder `electro` that no family reads" in err) == (2, True)


def test_schemas_are_written_for_editors(run: Run, tmp_path: Path) -> None:
    """A file for each kind of knowledge file, into a folder made for it."""
    status, out, _ = run("knowledge", "schema", "--out", str(tmp_path / "schemas"))
    files = sorted((tmp_path / "schemas").iterdir())
    assert (status, sorted(map(Path, out.split()))) == (0, files)
    assert [json.loads(file.read_text("utf-8"))["$schema"][-13:] for file in files] == ["2020-12/schema"[1:]] * 3
