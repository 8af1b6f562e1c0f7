"""What the commands say of themselves: examples that work as printed, the same words for the same thing, no wide line,
and errors in one message with the nearest right value."""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from faulttree.store import Cases, Database, Profiles
from faulttree.store.aircraft import Profile
from faulttree_cli.main import main, parser
from tests.support.share import share

SHOWN_ELSEWHERE = [
    ["knowledge", "check"],
    ["knowledge", "compare", "shop"],
    ["knowledge", "compare", "shop-2025", "shop-2026", "--family", "power-pack"],
]
"""Half a minute of work each: `test_commands` and `test_comparing` run them, the one with these words."""


def parsers(of: argparse.ArgumentParser) -> Iterator[argparse.ArgumentParser]:
    """A parser and those of its commands."""
    yield of
    for action in of._actions:
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                yield from parsers(command)


ALL = {p.prog: p for p in parsers(parser())}


def examples(of: argparse.ArgumentParser) -> list[list[str]]:
    """The examples of a command as words behind `faulttree`; what stands in $(...) is what a shell would run."""
    _, _, text = (of.epilog or "").partition("examples:\n")
    lines = text.partition("\n\n")[0].replace("\\\n", " ").splitlines()
    run = [inner[1] if (inner := re.search(r"\$\((.*?)\)", line)) else line for line in lines]
    words = [shlex.split(line, comments=True) for line in run]
    assert {first for first, *_ in words} == {"faulttree"}
    return [rest for _, *rest in words]


def asks(words: list[str]) -> bool:
    """Whether a command asks somebody at a terminal."""
    return (
        words[0] == "work"
        or (words[0] == "drill" and not {"--list", "--progress"} & set(words))
        or (words[0] == "aircraft" and len(words) == 2)
        or words[:2] == ["knowledge", "new"]
    )


@pytest.fixture
def _a_shop(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A folder to write in, with the case and the aircraft of the examples."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path))
    monkeypatch.setenv("FAULTTREE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.delenv("FAULTTREE_DATABASE", raising=False)
    database = Database(f"sqlite:///{tmp_path / 'cases.sqlite'}")
    Profiles(database).keep(Profile("QQ-ELM", "electromechanical"), "lead")
    cases = Cases(database, lambda: datetime(2026, 11, 26, 12, tzinfo=UTC))
    opened = {
        "family": "electromechanical", "fitted": [], "job": "QQ-ELM", "version": "1", "digest": "sha256:0",
        "overlays": [],
    }  # fmt: skip
    name, _ = cases.open("mechanic", opened)
    symptom = ("symptom", {"symptom": "will-not-retract", "present": True})
    cases.append(name, 1, "mechanic", [("squawk", {"text": "won't come up"}), symptom, ("symptoms-settled", {})])
    database.close()


@pytest.mark.parametrize("prog", ALL)
def test_every_command_shows_how_it_is_called(prog: str) -> None:
    """The help of each has an example of this very command."""
    called = [["faulttree", *words] for words in examples(ALL[prog])]
    assert [words for words in called if words[: len(prog.split())] == prog.split()]


@pytest.mark.parametrize("prog", share(ALL, 3, "examples"))
@pytest.mark.usefixtures("_a_shop")
def test_examples_work_as_printed(prog: str, capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    """One after another in one folder, each ends with 0; what asks somebody is only read."""
    for words in examples(ALL[prog]):
        if asks(words) or words in SHOWN_ELSEWHERE:
            parser().parse_args(words)
            continue
        status = main(words)
        assert (status, words) == (0, words), capsysbinary.readouterr().err.decode()


@pytest.mark.parametrize("prog", ALL)
def test_help_fits_eighty_columns(prog: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """No line is wider than a plain terminal."""
    monkeypatch.setenv("COLUMNS", "80")
    assert [line for line in ALL[prog].format_help().splitlines() if len(line) > 80] == []


def test_every_command_has_one_line_in_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    """Between the title and the examples of `faulttree --help` there is a line each, with words behind the name."""
    monkeypatch.setenv("COLUMNS", "80")
    listed = parser().format_help().partition("  COMMAND\n")[2].partition("\n\n")[0].splitlines()
    commands = [prog.split()[1] for prog in ALL if len(prog.split()) == 2]
    assert [line.split()[0] for line in listed] == commands
    assert [line for line in listed if len(line.split()) < 3] == []


@pytest.mark.parametrize("prog", ALL)
def test_every_word_of_a_command_is_told(prog: str) -> None:
    """No option and no argument without help; a command says what it does."""
    untold = [a.dest for a in ALL[prog]._actions if not a.help and not isinstance(a, argparse._SubParsersAction)]
    assert (untold, bool(ALL[prog].description)) == ([], True)


def told_of(options: set[str]) -> dict[str, set[tuple[object, str]]]:
    """Metavar and help of options wherever they are; behind a semicolon stands what holds for one command alone."""
    found: dict[str, set[tuple[object, str]]] = {}
    for action in (action for each in ALL.values() for action in each._actions):
        for option in options.intersection(action.option_strings):
            found.setdefault(option, set()).add((action.metavar, str(action.help).partition(";")[0]))
    return found


def test_the_same_option_has_the_same_metavar_and_words() -> None:
    """Those that several commands take."""
    shared = told_of({"--family", "--aircraft", "--fitted", "--knowledge"})
    assert {option: how for option, how in shared.items() if len(how) > 1} == {}


def test_the_same_option_has_the_same_metavar() -> None:
    """Also where it narrows a list in one command and tells what happened in another."""
    every = {option for each in ALL.values() for action in each._actions for option in action.option_strings}
    metavars = {option: {metavar for metavar, _ in how} for option, how in told_of(every).items()}
    metavars["--out"] -= {"FOLDER"}  # `schema` writes several files
    assert {option: names for option, names in metavars.items() if len(names) > 1} == {}


RANK = ("rank", "--family", "electromechanical")


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("wrok",), "the nearest is 'work'"),
        (("cases", "verfy"), "the nearest is 'verify'"),
        (("cases", "--state", "opne"), "the nearest is 'open'"),
        (("knowledge", "chek"), "the nearest is 'check'"),
        (("knowledge", "xyz"), "there are check, compare, list, show, draw, testability"),
        (("record", "x", "--as", "pfd"), "the nearest is 'pdf'"),
        (("completion", "zhs"), "the nearest is 'zsh'"),
        (("rank", "--symptum", "x"), "the nearest is '--symptom'"),
        (("rank", "--family", "electromechanicl"), "did you mean `electromechanical`?"),
        (("squawk", "--family", "wrong", "x"), "known families: electromechanical"),
        (("rank", "--aircraft", "QQ-EML"), "the nearest is 'QQ-ELM'"),
        ((*RANK, "--symptom", "horn-silnt"), "the nearest is 'horn-silent'"),
        ((*RANK, "--symptom", "wrong"), "faulttree knowledge list"),
        ((*RANK, "--people", "0"), "'0' is no whole number"),
        ((*RANK, "--hours", "many"), "'many' is no number"),
    ],
)
@pytest.mark.usefixtures("_a_shop")
def test_a_wrong_value_is_told_in_one_line(
    words: tuple[str, ...], named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """On stderr with status 2, and with what is right."""
    try:
        status = main(words)
    except SystemExit as end:
        status = int(end.code or 0)
    out, err = capsys.readouterr()
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert named in err


@pytest.mark.usefixtures("_a_shop")
def test_a_misspelt_symptom_is_told_beside_the_empty_list(capsys: pytest.CaptureFixture[str]) -> None:
    """No case has it, and no kind of gear does."""
    assert main(["cases", "--symptom", "horn-silnt"]) == 0
    assert capsys.readouterr() == (
        "No such case.\n",
        "faulttree: no gear with its usual options has a symptom 'horn-silnt'; the nearest is 'horn-silent'\n",
    )  # fmt: skip


@pytest.mark.usefixtures("_a_shop")
def test_a_known_symptom_that_no_case_has_is_no_mistake(capsys: pytest.CaptureFixture[str]) -> None:
    """The list is empty, and that is all."""
    assert main(["cases", "--symptom", "horn-silent"]) == 0
    assert capsys.readouterr() == ("No such case.\n", "")
