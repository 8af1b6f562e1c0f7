"""Places that do not take what is written: a database without room, a small disk, another user's rights."""

from __future__ import annotations

import contextlib
import io
import json
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, event

from faulttree_cli.main import main, parser

NOBODY = "nobody"


@dataclass
class Room:
    """How many pages the SQLite databases opened meanwhile may have; fewer than they have means: no more."""

    pages: int = 1

    def make(self) -> None:
        """As much as anybody wants (the most that SQLite can hold)."""
        self.pages = 2**30


@contextmanager
def no_room() -> Iterator[Room]:
    """No SQLite database can grow, until room is made: SQLite then answers as it does on a full disk."""
    room = Room()

    def limit(connection: Connection) -> None:
        connection.exec_driver_sql(f"PRAGMA max_page_count = {room.pages}")

    event.listen(Engine, "begin", limit)
    try:
        yield room
    finally:
        event.remove(Engine, "begin", limit)


@dataclass(frozen=True, slots=True)
class Disk:
    """A disk of its own, held in memory."""

    at: Path

    def fill(self) -> None:
        """Leave not one byte free."""
        with contextlib.suppress(OSError), (self.at / "filler").open("wb", buffering=0) as file:
            while True:
                file.write(b"x" * 4096)

    def make_room(self) -> None:
        """Free what was filled, and make the disk larger."""
        (self.at / "filler").unlink(missing_ok=True)
        subprocess.run(["mount", "-o", "remount,size=16m", str(self.at)], check=True)


@contextmanager
def small_disk(at: Path, kib: int) -> Iterator[Disk]:
    """A disk of so many KiB. Raises OSError where this user may not mount one."""
    at.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kib}k", "none", str(at)], check=False, capture_output=True, text=True
    )
    if done.returncode:
        raise OSError(done.stderr.strip())
    try:
        yield Disk(at)
    finally:
        subprocess.run(["umount", "--lazy", str(at)], check=True)


def may_mount() -> bool:
    """Whether a small disk can be had here at all."""
    if os.geteuid() != 0 or shutil.which("mount") is None:
        return False
    with tempfile.TemporaryDirectory() as at, contextlib.suppress(OSError), small_disk(Path(at) / "disk", 64):
        return True
    return False


@contextmanager
def open_folder() -> Iterator[Path]:
    """A folder that every user can reach, which the tests' own folders are not."""
    at = Path(tempfile.mkdtemp(prefix="faulttree-test-"))
    at.chmod(0o755)
    try:
        yield at
    finally:
        for path in (at, *at.rglob("*")):
            if path.is_dir():
                path.chmod(0o755)
        shutil.rmtree(at)


def command(*words: str) -> tuple[int, str, str]:
    """Run `faulttree` in this process: its status, what it printed, and what it said of errors."""
    printed, said = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(said):
        status = main(words)
    return status, printed.getvalue(), said.getvalue()


def one_message(told: tuple[int, str, str], *parts: str) -> None:
    """Status 2, and one line that names what is wrong."""
    status, printed, said = told
    assert (status, printed, said.count("\n")) == (2, "", 1), said
    assert "Traceback" not in said
    assert "failed inside" not in said
    assert [part for part in parts if part not in said] == [], said


def unprivileged(call: Callable[[], tuple[int, str, str]]) -> tuple[int, str, str]:
    """The same by a process that rights hold for: root's are given up first."""
    parser()  # what the command loads may lie where the other user may not read
    heard, telling = os.pipe()
    pid = os.fork()
    if pid == 0:
        _tell_and_leave(call, telling)
    os.close(telling)
    with os.fdopen(heard, "rb") as pipe:
        told = pipe.read()
    _, status = os.waitpid(pid, 0)
    assert status == 0, f"the process ended with {status}"
    found, printed, said = json.loads(told)
    return int(found), str(printed), str(said)


def _tell_and_leave(call: Callable[[], tuple[int, str, str]], telling: int) -> None:
    status = 3
    try:
        if os.geteuid() == 0:
            nobody = pwd.getpwnam(NOBODY)
            os.setgroups([])
            os.setgid(nobody.pw_gid)
            os.setuid(nobody.pw_uid)
        os.write(telling, json.dumps(call()).encode())
        status = 0
    finally:
        os._exit(status)
