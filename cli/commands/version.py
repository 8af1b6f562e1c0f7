"""`faulttree --version`: the program and the knowledge shipped with it, by which a record can be told to be of these,
and where the settings are.

A record names the digest of its family's book, which covers what all families share; so there is one for each family.
"""

from __future__ import annotations

from collections.abc import Iterator

from faulttree import __version__
from faulttree.book import families
from faulttree.clean import plain
from faulttree.errors import FaulttreeError

from .. import places, settings

DIGITS = 12
"""Of a digest's 64, as many as nobody mistakes for another's."""


def run() -> int:
    """Prints it. Knowledge that cannot be used is no reason to keep the program's version back: status 0."""
    print(f"faulttree {__version__}")
    for line in _knowledge():
        print(plain(line))
    file = settings.settings_file()
    print(plain(f"settings {file}{'' if file.exists() else ' (not there: nothing is set)'}"))
    return 0


def _knowledge() -> Iterator[str]:
    try:
        folder = places.shipped_book()
        known = families([folder])
    except (FaulttreeError, OSError) as problem:
        yield f"knowledge cannot be used: {problem}"
        return
    if not known:
        yield f"knowledge cannot be used: there is none in {folder}"
    for family in known:
        try:
            book = places.load(family, [], [])
        except (FaulttreeError, OSError) as problem:
            first, *more = str(problem).splitlines()
            also = f" (and {len(more)} more; `faulttree knowledge check` lists them)" if more else ""
            yield f"knowledge of {family} cannot be used: {first}{also}"
        else:
            kind, _, digits = book.digest.rpartition(":")
            yield f"knowledge {book.version} of {family}, {kind}:{digits[:DIGITS]}"
