"""Where a paper or a chart goes: to a file, or to standard output."""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
import textwrap
from pathlib import Path
from typing import IO

from faulttree.errors import FaulttreeError

BULLET = re.compile(r"\s*(?:[-*] )?")


def window_width(file: IO[str]) -> int:
    """Columns of the window that ``file`` is; 0 where it is none."""
    # What is no file at all (a buffer of the tests) says so in one of these ways.
    with contextlib.suppress(OSError, ValueError, io.UnsupportedOperation):
        return os.get_terminal_size(file.fileno()).columns
    return 0


def at_words(text: str, width: int) -> str:
    """``text`` with its long lines broken between words; what goes on stands below the first word of its line."""
    return "\n".join(_at_words(line, width) for line in text.split("\n"))


def _at_words(line: str, width: int) -> str:
    indent = BULLET.match(line)
    further = " " * (len(indent[0]) if indent else 0)
    lines = textwrap.wrap(
        line, width, subsequent_indent=further, break_long_words=False, break_on_hyphens=False,
        replace_whitespace=False, drop_whitespace=True,
    )  # fmt: skip
    return "\n".join(lines) if len(line) > width else line


def must_be_able(out: str) -> None:
    """Refuses a file that could not be written, before the work that would be lost. Raises FaulttreeError."""
    path = Path(out)
    if path.is_dir():
        why = "it is a folder"
    elif not path.absolute().parent.is_dir():
        why = f"there is no folder {path.parent}"
    elif not os.access(path if path.exists() else path.absolute().parent, os.W_OK):
        why = "no right to write there"
    else:
        return
    raise FaulttreeError(f"{out}: cannot be written ({why})")


def put_out(content: bytes, out: str | None, words: bool = False) -> None:
    """Writes ``content`` to the file ``out``, to standard output where there is none. Raises FaulttreeError.

    In a window ``words`` (a paper in plain words) are broken between words.
    """
    if out is None:
        wide = window_width(sys.stdout) if words else 0
        if wide:
            content = at_words(content.decode("utf-8"), wide).encode("utf-8")
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        return
    try:
        Path(out).write_bytes(content)
    except OSError as problem:
        raise FaulttreeError(f"{out}: cannot be written ({problem.strerror})") from problem
    print(f"Written: {out}", file=sys.stderr)
