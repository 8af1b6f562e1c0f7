"""The layering of the project, kept by a machine."""

from __future__ import annotations

import subprocess
import sys
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
    heavy = ["pydantic", "networkx", "sqlalchemy", "prompt_toolkit", "rich", "pint", "yaml"]
    code = (
        "import sys, faulttree_cli.main, faulttree.advice, faulttree.belief, faulttree.squawk, faulttree_cli.places\n"
        "faulttree_cli.main.parser()\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
