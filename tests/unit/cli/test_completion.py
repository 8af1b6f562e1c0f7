"""The script of `faulttree completion` completes in a real bash, and offers no name that a shell would run."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from faulttree.store import Database, Profiles
from faulttree.store.aircraft import Profile
from faulttree_cli.main import main

BASH = shutil.which("bash")

COMPLETE = """
faulttree() { echo "asked-for:$*" | tr " " "_"; }   # in place of the program, which names of cases are asked of
eval "$SCRIPT"
COMP_WORDS=("$@")
COMP_CWORD=$(($# - 1))
_shtab_faulttree
printf '%s\\n' "${COMPREPLY[@]}"
"""


@pytest.fixture
def script(capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["completion", "bash"]) == 0
    return capsys.readouterr().out


@pytest.mark.skipif(BASH is None, reason="bash is not installed")
@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        (["ra"], ["rank"]),
        (["knowledge", ""], ["check", "compare", "draw", "list", "new", "rates", "schema", "show", "testability"]),
        (["cases", "una"], ["unarchive"]),
        (["squawk", "--f"], ["--family"]),
        (["rank", "--family", ""], ["electromechanical", "engine-driven", "power-pack"]),
        (["rank", "--knowledge", "sh"], ["shop"]),
        (["knowledge", "new", "--write", "sh"], ["shop"]),
        (["knowledge", "new", "--case", "a"], ["asked-for:completion_bash_--names_cases"]),
        (["cases", "import", "sh"], ["shop", "shift.json"]),
        (["record", "a"], ["asked-for:completion_bash_--names_cases"]),
        (["work", "--aircraft", "a"], ["asked-for:completion_bash_--names_aircraft"]),
        (["work", "--trace"], []),
    ],
)
def test_bash_completes(script: str, tmp_path: Path, typed: list[str], offered: list[str]) -> None:
    """What is offered for the last word, in a folder with one folder and one file."""
    (tmp_path / "shop").mkdir()
    (tmp_path / "shift.json").touch()
    run = subprocess.run(
        ["bash", "--norc", "-c", COMPLETE, "bash", "faulttree", *typed],
        env={"SCRIPT": script, "PATH": "/usr/bin:/bin"}, cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert sorted(run.stdout.split()) == sorted(offered), run.stderr


def test_zsh_has_a_script_too(capsys: pytest.CaptureFixture[str]) -> None:
    """It is one for zsh, and knows the kinds of gear."""
    assert main(["completion", "zsh"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("#compdef faulttree")
    assert ":FAMILY:(electromechanical engine-driven power-pack)" in out


@pytest.mark.parametrize("name", ["QQ $(reboot)", "`reboot`", "-rf", "QQ;reboot", "QQ\nreboot $HOME"])
def test_no_name_is_offered_that_a_shell_would_expand(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A name with anything but letters, digits and a few signs is left out; the others are there."""
    monkeypatch.setenv("FAULTTREE_CASES", str(tmp_path))
    monkeypatch.delenv("FAULTTREE_DATABASE", raising=False)
    database = Database(f"sqlite:///{tmp_path / 'cases.sqlite'}")
    for each in ("QQ-ELM", name):
        Profiles(database).keep(Profile(each, "electromechanical"), "lead")
    database.close()
    assert main(["completion", "bash", "--names", "aircraft"]) == 0
    assert capsys.readouterr().out == "QQ-ELM\n"
