"""A PostgreSQL of the tests' own: a cluster in a temporary folder, reached through a socket there.

Debian's package is enough; its programs need not be on the path. The server refuses to run for root, so root starts it
for another user.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

FOLDERS = "/usr/lib/postgresql"
UNPRIVILEGED = ("postgres", "nobody")


def missing() -> str | None:
    """Why there can be no server here, None where there can."""
    if _program("initdb") is None or _program("pg_ctl") is None:
        return "PostgreSQL is not installed"
    if os.geteuid() == 0 and _user() is None:
        return "PostgreSQL does not run for root, and there is no other user"
    return None


@contextmanager
def server() -> Iterator[str]:
    """The URL of an empty database; the server stops at the end, and its folder goes."""
    # A socket's path must be short, so not below the folders of the tests.
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    user = _user() if os.geteuid() == 0 else None
    if user is not None:
        os.chown(folder, user.pw_uid, user.pw_gid)
    try:
        data = folder / "data"
        _run(user, "initdb", "-D", data, "-U", "shop", "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C")
        options = f"-k {folder} -c listen_addresses= -c fsync=off"
        _run(user, "pg_ctl", "-D", data, "-w", "-l", folder / "log", "-o", options, "start")
        try:
            yield f"postgresql://shop@/postgres?host={folder}"
        finally:
            _run(user, "pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _program(name: str) -> str | None:
    of_debian = sorted(Path(FOLDERS).glob(f"*/bin/{name}"), reverse=True)
    return str(of_debian[0]) if of_debian else shutil.which(name)


def _user() -> pwd.struct_passwd | None:
    for name in UNPRIVILEGED:
        try:
            return pwd.getpwnam(name)
        except KeyError:
            continue
    return None


def _run(user: pwd.struct_passwd | None, program: str, *words: object) -> None:
    path = _program(program)
    assert path is not None
    done = subprocess.run(
        [path, *map(str, words)], check=False, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE, cwd="/", user=user.pw_uid if user else None, group=user.pw_gid if user else None,
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(f"{program}: {done.stderr.decode(errors='replace').strip()}")
