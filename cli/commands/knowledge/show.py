"""`faulttree knowledge show`: one entry of the knowledge with all that touches it."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ... import options, places
from . import families

if TYPE_CHECKING:
    from faulttree.book.model import Book
    from faulttree.workshop.entries import Entry, Shelf
    from faulttree.workshop.touching import Touched

WIDTH, LABEL = 80, 24
PRINTED, SAID = 12, 8
"""What touches an entry by the dozen, and what pilots say, is cut on the screen; --all and --json tell it all."""


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "show", "show an entry with all that touches it",
        "Shows an entry by its id or name: what it says, where it is written, and what touches it: symptoms, checks, "
        "actions, conditions, cautions and regression cases. Without --family it is that of the first kind of gear "
        "that has it; where the usual options leave it out, those that bring it in are taken.",
        "faulttree knowledge show horn-silent",
        "faulttree knowledge show gear-motor --family electromechanical",
        "faulttree knowledge show on-jacks --family power-pack --json",
    )  # fmt: skip
    told = (
        "id or name of a component, fault, event, symptom, check, action, condition, caution or whatever else there is"
    )
    parser.add_argument("entry", metavar="ENTRY", help=told)
    options.add_fitted(parser)
    parser.add_argument(
        "--all", action="store_true", help=f"all that touches it, not only {PRINTED} of a kind, and all that pilots say"
    )
    options.add_bench(parser, "; the first that has the entry without")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Prints the entry, or all that have the name."""
    found = _found(given)
    if given.json:
        from dataclasses import asdict

        print(json.dumps({"entries": [asdict(one) for one in found]}, indent=2, ensure_ascii=False))
    else:
        print("\n\n".join("\n".join(as_text(one, None if given.all else PRINTED)) for one in found))
    return 0


def _found(given: argparse.Namespace) -> list[Entry]:
    """The entries of the first family that has any; tried with other options where the usual ones leave them out."""
    shelves = [_shelf(given, book) for book in families.books(given)]
    having = [shelf for shelf in shelves if shelf.find(given.entry)]
    if not having:
        having = [other for shelf in shelves if (other := _with_other_options(given, shelf)) is not None]
    if not having and (gone := [words for shelf in shelves if (words := shelf.retired(given.entry))]):
        from faulttree.errors import UnknownName

        raise UnknownName("; ".join(gone))
    if not having:
        near = dict.fromkeys(name for shelf in shelves for name in shelf.near(given.entry))
        families.not_found("entry", given.entry, list(near)[:8])
    if len(having) > 1:
        families.tell_others([shelf.book for shelf in having])
    return [having[0].entry(section, name) for section, name in having[0].find(given.entry)]


def _shelf(given: argparse.Namespace, book: Book) -> Shelf:
    from faulttree.workshop.entries import Shelf

    return Shelf(book, families.folders(given))


def _with_other_options(given: argparse.Namespace, shelf: Shelf) -> Shelf | None:
    for fitted in [] if given.fitted else shelf.only_with(given.entry):
        other = _shelf(given, places.load(shelf.book.family, fitted, families.overlays(given)))
        if other.find(given.entry):
            print(f"faulttree: only with --fitted {' --fitted '.join(fitted)}", file=sys.stderr)
            return other
    return None


def as_text(entry: Entry, most: int | None) -> Iterator[str]:
    """Lines of at most ``WIDTH`` signs; of each kind of what touches it at most so many, of cautions all."""
    from faulttree.clean import plain

    yield from _wrapped(plain(f"{entry.kind} {entry.id} ({entry.family})"), "", "")
    yield from _wrapped(plain(entry.name), "", "")
    if entry.written_at:
        yield f"written at {entry.written_at}"
    for words in entry.amended:
        yield from _wrapped(plain(f"amended at {words}"), "", "    ")
    for label, words in entry.fields:
        if most is not None and label == "how pilots put it":
            said = words.split("; ")
            words = "; ".join([*said[:SAID], *([f"and {len(said) - SAID} more"] if len(said) > SAID else [])])
        yield from _wrapped(
            plain(words), f"  {label:<{LABEL - 2}}" if len(label) < LABEL - 2 else f"  {label}: ", " " * 4
        )
    if not entry.touched:
        yield from ("", "Nothing of this gear, with these options, touches it.")
    for title, touched in entry.touched:
        yield ""
        rows = _by_leg(touched)
        shown = rows if title.startswith("Cautions") else rows[:most]
        count = f" ({len(shown)} of {len(rows)})" if len(shown) < len(rows) else f" ({len(rows)})"
        yield f"{title}{count}"
        for words in shown:
            yield from _wrapped(plain(words), "  ", "      ")


def _by_leg(touched: Sequence[Touched]) -> list[str]:
    """Entries in words; what is the same for several legs stands on one line, with what differs by leg."""
    from faulttree.book.legs import without_leg

    rows: dict[tuple[str, str], list[Touched]] = {}
    for one in touched:
        base, leg = without_leg(one.id)
        rows.setdefault((base, "" if leg else one.id), []).append(one)
    return [_words(row, [without_leg(one.id)[1] or "" for one in row]) for row in rows.values()]


def _words(row: Sequence[Touched], legs: Sequence[str]) -> str:
    more = f" (and {', '.join(legs[1:])})" if len(row) > 1 else ""
    notes = [note for note in dict.fromkeys(one.note for one in row) if note]
    return f"{row[0].id}{more}: {row[0].name}" + (f" [{'; '.join(notes)}]" if notes else "")


def _wrapped(words: str, first: str, other: str) -> list[str]:
    return textwrap.wrap(
        words, WIDTH, initial_indent=first, subsequent_indent=other, break_on_hyphens=False, break_long_words=False
    ) or [first.rstrip()]  # fmt: skip
