"""Installs the built wheel where nothing of the repository is, and works with it as somebody who has no right to it.

    python tests/hardening/installed.py
    python tests/hardening/installed.py --python python3.12 --python python3.13

For each Python: a new environment and folder, the wheel alone with what it depends on, everything in the environment
made read-only and, where this is run by root, every command run as another user (if that one may run this Python). Each
command has to end as it should; a case is worked and taken up again, its papers are written; what is new below the home
may lie in the folders of the program's own data and cache alone, and nothing in the environment may have changed.
"""

from __future__ import annotations

import argparse
import os
import pwd
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOBODY = "nobody"
OPENING = ("QQ-INN", "gear wont come up", "y", "", "2", "1", "", "")
"""Job, squawk, yes, nothing else, lowered by normal means, legs locked, no circumstances, usual hours."""

ALLOWED = (".local/share/faulttree", ".cache/faulttree", "papers")
CASE = "CASE"


@dataclass(frozen=True)
class Told:
    """A command, what is typed, the status that it is to end with and words that it is to print."""

    words: Sequence[str]
    typed: str = ""
    status: int = 0
    says: str = ""


COMMANDS = (
    Told(["--version"], says="knowledge"),
    Told(["rank", "--family", "electromechanical", "--symptom", "will-not-retract", "--quick"], says="next"),
    Told(["squawk", "--family", "power-pack", "pump runs on"], says="runs"),
    Told(["knowledge", "list"], says="engine-driven"),
    Told(["knowledge", "check", "--family", "power-pack"], says="no errors"),
    Told(["knowledge", "check", "nowhere"], status=2),
    Told(["work", "--plain", "--family", "electromechanical"], "\n".join([*OPENING, "q", ""]), says="is kept"),
    Told(["cases"], says="QQ-INN"),
    Told(["work", CASE, "--plain"], "y\na\nloom looks old\nq\n", says="is kept"),
    Told(["cases", "verify"], says=""),
    *(Told(["record", CASE, "--out", f"papers/record.{kind}"]) for kind in ("pdf", "html", "md", "json")),
    Told(["chart", "motor-runs-on", "--family", "power-pack", "--out", "papers/chart.pdf"]),
    Told(["drill", "--plain", "--family", "electromechanical", "--seed", "1", "--level", "1"], "r\nq\n"),
    Told(["completion", "bash"], says="faulttree"),
)


def run(words: Sequence[str], **named: object) -> None:
    """A step of the installation. Raises CalledProcessError."""
    # What is named comes as a mapping of any values, which no overload of `run` takes.
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL, **named)  # type: ignore[call-overload]


def wheel(at: Path, python: str) -> Path:
    """The wheel, built from a copy of the repository, since building writes beside the sources."""
    run(["git", "clone", "-q", str(ROOT), str(at / "source")])
    run([python, "-m", "pip", "wheel", "-q", "--no-deps", "--wheel-dir", str(at / "wheel"), str(at / "source")])
    return next((at / "wheel").glob("*.whl"))


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """The folder without any right to write in it."""
    paths = [folder, *(path for path in folder.rglob("*") if not path.is_symlink())]
    rights = {path: stat.S_IMODE(path.stat().st_mode) for path in paths}
    for path, mode in rights.items():
        path.chmod((mode & ~0o222) | (0o555 if path.is_dir() else 0o444))
    try:
        yield
    finally:
        for path, mode in rights.items():
            path.chmod(mode)


def seen(folder: Path) -> dict[str, int]:
    """All files below a folder with the time of their last change."""
    return {str(path.relative_to(folder)): path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()}


def as_another(python: Path) -> dict[str, object]:
    """What runs a process as a user without rights; nothing where it is one, or that user may not run this Python."""
    other = {"user": NOBODY, "group": pwd.getpwnam(NOBODY).pw_gid, "extra_groups": []}
    if os.geteuid() != 0:
        return {}
    try:
        run([str(python), "-c", ""], **other)
    except (OSError, subprocess.CalledProcessError):
        return {}
    return other


def commands(program: Path, home: Path, other: dict[str, object]) -> Iterator[str]:
    """What went wrong, command by command, in words."""
    environment = {"HOME": str(home), "PATH": "/usr/bin:/bin", "LANG": "C.UTF-8", "TERM": "dumb"}
    case = ""
    for told in COMMANDS:
        words = [case if word == CASE else word for word in told.words]
        # As above, for who it is run as.
        done = subprocess.run(
            [str(program), *words], cwd=home, env=environment, input=told.typed, capture_output=True, text=True,
            check=False, **other,
        )  # type: ignore[call-overload]  # fmt: skip
        if told.words == ["cases"]:
            case = next((line.split()[0] for line in done.stdout.splitlines() if "QQ-INN" in line), "")
        said = done.stdout + done.stderr
        if done.returncode != told.status or told.says not in said or "Traceback" in said:
            yield f"faulttree {' '.join(words)}: status {done.returncode}, {said[-400:]!r}"


def tried(python: str, built: Path) -> list[str]:
    """What is wrong with the program as this Python has it installed."""
    with tempfile.TemporaryDirectory() as folder:
        at = Path(folder)
        at.chmod(0o755)
        run([python, "-m", "venv", str(at / "env")])
        run([str(at / "env/bin/pip"), "install", "-q", "--disable-pip-version-check", str(built)])
        home, other = at / "home", as_another(at / "env/bin/python")
        for made in (home, home / "papers"):
            made.mkdir()
            if other:
                os.chown(made, pwd.getpwnam(NOBODY).pw_uid, pwd.getpwnam(NOBODY).pw_gid)
        before = seen(at / "env")
        with read_only(at / "env"):
            wrong = list(commands(at / "env/bin/faulttree", home, other))
        if seen(at / "env") != before:
            wrong.append("something in the environment was changed")
        astray = [name for name in seen(home) if not name.startswith(ALLOWED)]
        print(f"run as {other.get('user', 'whoever runs this')}")
        return wrong + [f"written where it does not belong: {name}" for name in astray]


def main() -> int:
    """The command; 1 where something went wrong."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--python", action="append", help="a Python to install with; may be repeated")
    given = parser.parse_args()
    failed = False
    with tempfile.TemporaryDirectory() as at:
        Path(at).chmod(0o755)
        built = wheel(Path(at), sys.executable)
        for python in given.python or [sys.executable]:
            wrong = tried(python, built)
            failed = failed or bool(wrong)
            version = subprocess.run([python, "--version"], capture_output=True, text=True, check=True).stdout.strip()
            print(f"{version}: {len(COMMANDS)} commands, {len(wrong)} wrong", *wrong, sep="\n  ", flush=True)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
