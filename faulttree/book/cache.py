"""Checked books kept as plain data in a folder of the user's, by the digest of the files they come from.

Reading a book from here needs neither YAML nor its validation. A copy that is damaged, or that another
version wrote, is as good as none. That a copy cannot be written is no error: the next start is slower.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from pathlib import Path

from faulttree import __version__
from faulttree.book.files import SourceFile, digest_of_files
from faulttree.book.model import Book
from faulttree.book.plain import SHAPE, from_plain, to_plain

FORMAT = 1
"""Raise it when the reader makes something else of the same files."""

_KEPT = 50
_SUFFIX = ".book.json"


def key(files: Sequence[SourceFile], family: str, fitted: Sequence[str]) -> str:
    """SHA-256 over the bytes of all files, where they stand, the family, the options and the format."""
    head = json.dumps([FORMAT, __version__, SHAPE, family, sorted(fitted)])
    return digest_of_files(files, head.encode("utf-8", "surrogatepass"))


def load(folder: Path, name: str) -> Book | None:
    """The book kept under a key, or ``None`` if there is none that is sound."""
    try:
        checksum, _, text = (folder / f"{name}{_SUFFIX}").read_bytes().partition(b"\n")
        if hashlib.sha256(text).hexdigest().encode() != checksum:
            return None
        return from_plain(json.loads(text))
    except (OSError, ValueError, TypeError, IndexError, KeyError, AttributeError, RecursionError):
        return None


def save(folder: Path, name: str, book: Book) -> None:
    """Keeps a book under a key: written beside its place and moved there whole. The oldest copies go."""
    text = json.dumps(to_plain(book), separators=(",", ":")).encode()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _write_whole(folder / f"{name}{_SUFFIX}", hashlib.sha256(text).hexdigest().encode() + b"\n" + text)
        _thin_out(folder)
    except OSError:
        return


def _write_whole(path: Path, content: bytes) -> None:
    import tempfile  # costs more than reading a book does, and is seldom wanted

    handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.replace(part, path)
    except OSError:
        os.unlink(part)
        raise


def _thin_out(folder: Path) -> None:
    kept = sorted(folder.glob(f"*{_SUFFIX}"), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in kept[_KEPT:]:
        path.unlink(missing_ok=True)
