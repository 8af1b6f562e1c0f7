"""Which kind of gear a shop lead means who names an entry and no family: the first one that has it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import NoReturn

from faulttree.book.model import Book
from faulttree.errors import FaulttreeError, UnknownName

from ... import places, settings


class NoFamily(FaulttreeError):
    """A family that no folder has, or that reads none of what was named."""


def overlays(given: argparse.Namespace) -> list[str]:
    """The shop's overlays, and those that were named."""
    return settings.read().overlays_and(given.knowledge)


def folders(given: argparse.Namespace) -> list[Path]:
    """The shipped knowledge with the overlays on it."""
    return [places.shipped_book(), *map(Path, overlays(given))]


def chosen(given: argparse.Namespace) -> list[str]:
    """The family asked for, or all of them."""
    from faulttree.book import families

    return [given.family] if given.family else families(folders(given))


def books(given: argparse.Namespace) -> list[Book]:
    """The book of each family asked for, with the options given; without --family of those alone that have them.

    Raises BadBook.
    """
    found: list[Book] = []
    problems: list[places.BadBook] = []
    for family in chosen(given):
        try:
            found.append(places.load(family, given.fitted, overlays(given)))
        except places.BadBook as problem:
            if given.family or not given.fitted:
                raise
            problems.append(problem)
    if not found:
        raise problems[0]
    return found


def must_be(name: str, *books: Sequence[Path]) -> None:
    """Refuses a family that one of some books lacks: that is a slip in the command, not in the knowledge.

    Raises NoFamily.
    """
    from faulttree.book import families
    from faulttree.book.nearest import did_you_mean

    for book in books:
        known = families(book)
        if known and name not in known and not any((folder / name).is_dir() for folder in book):
            raise NoFamily(f"there is no family {name!r}; {did_you_mean(name, known, 'there are ' + ', '.join(known))}")


def first_with(given: argparse.Namespace, has: Callable[[Book], bool]) -> Book | None:
    """The first book that has what is asked for; the other families that have it are named on stderr."""
    found = [book for book in books(given) if has(book)]
    if len(found) > 1:
        tell_others(found)
    return found[0] if found else None


def tell_others(found: Sequence[Book]) -> None:
    """Says on stderr which families have it too."""
    others = " or ".join(f"--family {book.family}" for book in found[1:])
    print(f"faulttree: this is of {found[0].family}; there is also {others}", file=sys.stderr)


def not_found(what: str, name: str, near: Iterable[str]) -> NoReturn:
    """Raises UnknownName with the nearest ids."""
    listed = ", ".join(near)
    raise UnknownName(
        f"there is no {what} {name!r}; " + (f"near it are {listed}" if listed else "see `faulttree knowledge list`")
    )
