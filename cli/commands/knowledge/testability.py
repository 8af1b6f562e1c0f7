"""`faulttree knowledge testability`: which faults the checks of a book find and tell apart, in IEEE 1522 terms."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from faulttree.errors import FaulttreeError

from ... import options, places
from . import families

if TYPE_CHECKING:
    from faulttree.book.model import Book
    from faulttree.workshop.testability import Testability
    from faulttree.workshop.wanted import Wanted

WIDTH = 80
MOST_WANTED = 10


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "testability", "tell which faults the checks find and tell apart",
        "Detection and isolation figures, weighted by rate, of each kind of gear and of the faults that reach each "
        "symptom, and the groups of faults that no check tells apart. With --wanted also the checks that would help "
        "most: which faults, if one look told them apart, would save how many minutes. That takes some minutes for "
        "each kind of gear.",
        "faulttree knowledge testability --family engine-driven",
        "faulttree knowledge testability --family power-pack \\",
        "    --symptom lights-dead --wanted",
    )  # fmt: skip
    told = "the faults that reach this symptom alone; may be repeated"
    parser.add_argument("--symptom", action="append", default=[], metavar="SYMPTOM", help=told)
    told = f"the {MOST_WANTED} checks that are not there and would help most"
    parser.add_argument("--wanted", action="store_true", help=told)
    options.add_bench(parser, "; all of them without; may be repeated", action="append", default=[])
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Prints the figures, as text or as JSON."""
    from faulttree.book import families as all_families

    chosen = given.family or all_families(families.folders(given))
    books = [places.load(family, [], families.overlays(given)) for family in chosen]
    if given.symptom:
        _known(books, given.symptom)
        books = [book for book in books if any(name in book.symptoms for name in given.symptom)]
    documents = {}
    for book in books:
        symptoms = [name for name in book.symptoms if not given.symptom or name in given.symptom]
        documents[book.family] = _figures(book, symptoms, given)
    if given.json:
        print(json.dumps({"families": documents}, indent=2))
    return 0


def _known(books: Sequence[Book], symptoms: Sequence[str]) -> None:
    from faulttree.book.nearest import nearest

    known = dict.fromkeys(name for book in books for name in book.symptoms)
    for name in symptoms:
        if name not in known:
            near = nearest(name, known)
            hint = f"the nearest is {near!r}" if near else "`faulttree knowledge list` names them"
            raise FaulttreeError(f"there is no symptom {name!r}; {hint}")


def _figures(book: Book, symptoms: Sequence[str], given: argparse.Namespace) -> dict[str, Any]:
    """The figures of one book as data; printed as they are done unless data is what is wanted."""
    from faulttree.workshop.testability import of_symptom, testability

    whole = testability(book)
    by_symptom = {name: of_symptom(book, name) for name in symptoms}
    document = {**asdict(whole), "symptoms": {name: asdict(found) for name, found in by_symptom.items()}}
    if not given.json:
        print("\n".join(_told(book, whole, by_symptom, bool(given.symptom))), flush=True)
    if given.wanted:
        found = _wanted(book, symptoms)
        document["wanted"] = [{**asdict(one), "per_1000_hours": one.per_1000_hours} for one in found]
        if not given.json:
            print("\n".join(_wanted_told(book, found)), flush=True)
    return document


# -- in words ----------------------------------------------------------------------------------------------


def _told(book: Book, whole: Testability, by_symptom: dict[str, Testability], only_these: bool) -> Iterator[str]:
    yield f"{book.family}: {whole.faults} faults, weighted by rate"
    if not only_these:
        yield f"  detected by some check        {whole.detected:6.1%}"
        yield f"  isolated to one               {whole.isolated:6.1%}"
        yield f"  isolated to three or fewer    {whole.nearly:6.1%}"
        yield f"  mean ambiguity group          {whole.mean_group:6.2f}"
        yield from _groups(book, whole)
    yield f"  {'by symptom':<32}{'faults':>7}{'detected':>10}{'to one':>8}{'to 3':>7}{'group':>7}"
    for name, found in by_symptom.items():
        shares = f"{found.detected:>10.1%}{found.isolated:>8.0%}{found.nearly:>7.0%}{found.mean_group:>7.2f}"
        yield f"  {name:<32}{found.faults:>7}{shares}"
        if only_these:
            yield from _groups(book, found)


def _groups(book: Book, found: Testability) -> Iterator[str]:
    for title, groups in (
        ("no check tells apart", found.groups),
        ("no check shows", [(fault,) for fault in found.undetected]),
    ):
        for group in groups:
            yield from _wrapped(f"{title}: " + "; ".join(book.faults[fault].name for fault in group), "  ")


def _wanted(book: Book, symptoms: Sequence[str]) -> list[Wanted]:
    from faulttree.workshop.wanted import wanted

    found = []
    for place, (symptom, of_symptom) in enumerate(wanted(book, symptoms), 1):
        if sys.stderr.isatty():
            print(f"{book.family}: {place} of {len(symptoms)} symptoms, {symptom}", file=sys.stderr)
        found += of_symptom
    return found


def _wanted_told(book: Book, found: Sequence[Wanted]) -> Iterator[str]:
    """A row for each check that would help: what it saves in 1000 flight hours, and at each squawk."""
    from faulttree.workshop.wanted import most_valuable

    ranked = most_valuable(found, MOST_WANTED)
    yield "  checks wanted: minutes saved in 1000 flight hours, and at each squawk"
    if not ranked:
        yield "    none would save a minute"
    for kinds, ones in ranked:
        total = sum(one.per_1000_hours for one in ones)
        yield from _wrapped("tell " + "\nfrom ".join(_kind(book, kind) for kind in kinds), f"  {total:>7.1f}  ", 11)
        for one in ones[:3]:
            yield f"{'':<11}{one.symptom}: {one.saves:.0f} of {one.minutes:.0f} min"
        if len(ones) > 3:
            yield f"{'':<11}and {len(ones) - 3} more symptoms"


def _kind(book: Book, kind: str) -> str:
    """The name of a kind of fault, without leg, with its id."""
    from faulttree.workshop.wanted import members_of

    fault = book.faults[members_of(book, [kind])[kind][0]]
    part = book.components[fault.component].name
    mode = fault.name.partition(": ")[2] or fault.name
    return f"{part}: {mode} ({kind})"


def _wrapped(words: str, first: str, other: int = 4) -> Iterator[str]:
    for place, line in enumerate(words.split("\n")):
        lead = first if place == 0 else " " * other
        yield from textwrap.wrap(
            line, WIDTH, initial_indent=lead, subsequent_indent=" " * (other + 2), break_on_hyphens=False
        )
