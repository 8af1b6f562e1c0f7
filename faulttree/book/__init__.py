"""The knowledge base: YAML files in, one frozen :class:`~faulttree.book.model.Book` out, or all that is wrong.

Importing this package costs little; the machinery that reads and validates YAML is imported when a book
has to be read, and not at all when a checked copy lies in the cache.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from faulttree.book.files import SourceFile, collect, families, from_texts
from faulttree.book.model import Book
from faulttree.book.positions import Position, Problem

if TYPE_CHECKING:
    from faulttree.book.cases import CasesReading

__all__ = [
    "Book",
    "BookReading",
    "Position",
    "Problem",
    "check_all_options",
    "families",
    "read_book",
    "read_cases",
    "read_texts",
]


@dataclass(frozen=True, slots=True)
class BookReading:
    """A book, or ``None`` and at least one problem. Problems come by file and line."""

    book: Book | None
    problems: tuple[Problem, ...]


def read_book(
    folders: Sequence[Path], family: str, fitted: Sequence[str] = (), cache: Path | None = None, without: str = ""
) -> BookReading:
    """Reads the book of a family for an aircraft's options. Never raises for bad data.

    Parameters
    ----------
    folders:
        The shipped book's root (with ``shared/`` and one folder per family), then overlays in order.
    family:
        The family, by the name of its folder.
    fitted:
        Options as ``option`` or ``group=option``; groups not named are taken at their default.
    cache:
        Folder for checked copies, made if need be; ``None`` reads the files anew.
    without:
        Name of a file that is left out, in whichever folder it lies.
    """
    files, problems = collect(folders, family)
    files = [file for file in files if not without or Path(file.name).name != without]
    if cache is None or problems:
        return _read(files, problems, family, fitted)
    from faulttree.book import cache as kept  # wanted only here, and as good as free

    name = kept.key(files, family, fitted)
    book = kept.load(cache, name)
    if book is not None:
        return BookReading(book, ())
    reading = _read(files, problems, family, fitted)
    if reading.book is not None:
        kept.save(cache, name, reading.book)
    return reading


def _read(files: Sequence[SourceFile], problems: Sequence[Problem], family: str, fitted: Sequence[str]) -> BookReading:
    from faulttree.book.reader import read  # brings YAML and pydantic

    return BookReading(*read(files, problems, family, fitted))


def read_texts(texts: Mapping[str, str], family: str, fitted: Sequence[str] = ()) -> BookReading:
    """Reads a book from texts by name, such as ``shared/faults.yaml``; see :func:`read_book`."""
    files, problems = from_texts(texts, family)
    return _read(files, problems, family, fitted)


def check_all_options(folders: Sequence[Path], family: str) -> tuple[Problem, ...]:
    """All problems at the default options and at each option with the other groups at their defaults."""
    from faulttree.book.reader import check_at_all_options

    files, problems = collect(folders, family)
    return check_at_all_options(files, problems, family)[0]


def read_cases(folders: Sequence[Path], family: str) -> CasesReading:
    """Reads the regression cases of a family; see :func:`faulttree.book.cases.read_cases`."""
    from faulttree.book import cases

    return cases.read_cases(folders, family)
