"""Where a paper or a chart goes: to a file, or to standard output."""

from __future__ import annotations

import sys
from pathlib import Path

from faulttree.errors import FaulttreeError


def put_out(content: bytes, out: str | None) -> None:
    """Writes ``content`` to the file ``out``, to standard output where there is none. Raises FaulttreeError."""
    if out is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        return
    try:
        Path(out).write_bytes(content)
    except OSError as problem:
        raise FaulttreeError(f"{out}: cannot be written ({problem.strerror})") from problem
    print(f"Written: {out}", file=sys.stderr)
