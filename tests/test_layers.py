"""The layering of the project, kept by a machine."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def test_imports_run_downwards_only() -> None:
    """Every contract of pyproject.toml holds, and every module has its layer."""
    run = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports")], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr


def test_the_way_to_a_ranked_answer_loads_nothing_heavy() -> None:
    """Command line, belief and advice import neither pydantic, networkx, SQLAlchemy, prompt_toolkit, rich nor pint."""
    heavy = [
        "pydantic",
        "networkx",
        "sqlalchemy",
        "prompt_toolkit",
        "rich",
        "pint",
        "yaml",
        "jinja2",
        "shtab",
        "typst",
        "faulttree.papers",
    ]
    code = (
        "import sys, faulttree_cli.main, faulttree.advice, faulttree.belief, faulttree.squawk, faulttree_cli.places\n"
        "faulttree_cli.main.parser()\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_the_wheel_holds_every_package_and_no_other_top_level() -> None:
    """pyproject.toml lists each folder with an __init__.py, under the three names that are installed."""
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    folders = {"faulttree": "faulttree", "faulttree_cli": "cli", "faulttree_knowledge": "knowledge"}
    found = set()
    for name, folder in folders.items():
        for init in (ROOT / folder).rglob("__init__.py"):
            inner = init.parent.relative_to(ROOT / folder).parts
            found.add(".".join((name, *inner)))
    assert set(setup["packages"]) == found
    assert setup["package-dir"] == folders


def test_the_readme_names_both_commands() -> None:
    """The README has one line that works a squawk and one that passes the tests, and the standing cautions."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "&& .venv/bin/faulttree work" in readme
    assert "&& .venv/bin/python -m pytest" in readme
    assert "Not for use in flight" in readme
