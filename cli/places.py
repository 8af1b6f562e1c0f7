"""Where things are: the shipped book, the user's cache and the database of cases."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from faulttree.book import read_book
from faulttree.book.model import Book
from faulttree.errors import FaulttreeError


class BadBook(FaulttreeError):
    """A book with problems; the message lists them all."""


def shipped_book() -> Path:
    """The folder of the knowledge that comes with the program."""
    import importlib.util

    spec = importlib.util.find_spec("faulttree_knowledge")
    if spec is None or spec.origin is None:
        raise BadBook("the shipped knowledge is not installed; install the program again")
    return Path(spec.origin).parent


def cache_folder() -> Path:
    """The user's cache folder for checked books."""
    if "FAULTTREE_CACHE" in os.environ:
        return Path(os.environ["FAULTTREE_CACHE"])
    import platformdirs

    return Path(platformdirs.user_cache_dir("faulttree", appauthor=False))


def database() -> str | Path:
    """The database with the cases: the URL in FAULTTREE_DATABASE, else a file in the user's data folder.

    FAULTTREE_CASES names another folder for that file.
    """
    if os.environ.get("FAULTTREE_DATABASE"):
        return os.environ["FAULTTREE_DATABASE"]
    return _data_folder() / "cases.sqlite"


def begun_entry() -> Path:
    """The file with the answers to a new entry of the knowledge that is not written yet."""
    return _data_folder() / "new-entry.json"


def _data_folder() -> Path:
    if "FAULTTREE_CASES" in os.environ:
        return Path(os.environ["FAULTTREE_CASES"]).absolute()
    import platformdirs

    return Path(platformdirs.user_data_dir("faulttree", appauthor=False)).absolute()


def overlay_digests(family: str, overlays: Sequence[str]) -> list[str]:
    """A digest for each overlay, of what the family reads in it."""
    from faulttree.book.files import digest_of

    return [digest_of(Path(folder), family) for folder in overlays]


def load(family: str, fitted: Sequence[str], overlays: Sequence[str]) -> Book:
    """The book of a family. Raises BadBook with every problem on a line of its own."""
    folders = [shipped_book(), *(Path(folder) for folder in overlays)]
    reading = read_book(folders, family, fitted, cache=cache_folder())
    if reading.book is None:
        raise BadBook("\n".join(str(problem) for problem in reading.problems))
    return reading.book
