"""`faulttree knowledge testability`: which faults the checks of a book find and tell apart, in IEEE 1522 terms."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from pathlib import Path

from ... import options, places


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "testability", "tell which faults the checks find and tell apart",
        "Detection and isolation figures, weighted by rate, and the groups of faults that no check tells apart.",
        "faulttree knowledge testability --family engine-driven",
    )  # fmt: skip
    options.add_family(parser, "; all of them without; may be repeated", action="append", default=[])
    options.add_knowledge(parser)
    options.add_json(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Prints the figures, as text or as JSON."""
    from faulttree.book import families
    from faulttree.workshop.testability import testability

    folders = [places.shipped_book(), *(Path(folder) for folder in given.knowledge)]
    chosen = given.family or families(folders)
    books = {family: places.load(family, [], given.knowledge) for family in chosen}
    figures = {family: testability(book) for family, book in books.items()}
    if given.json:
        print(json.dumps({"families": {family: asdict(found) for family, found in figures.items()}}, indent=2))
        return 0
    for family, found in figures.items():
        print(f"{family}: {found.faults} faults, weighted by rate")
        print(f"  detected by some check        {found.detected:6.1%}")
        print(f"  isolated to one               {found.isolated:6.1%}")
        print(f"  isolated to three or fewer    {found.nearly:6.1%}")
        print(f"  mean ambiguity group          {found.mean_group:6.2f}")
        for title, groups in (
            ("no check tells apart", found.groups),
            ("no check shows", [[f] for f in found.undetected]),
        ):
            for group in groups:
                print(f"  {title}: " + "; ".join(books[family].faults[fault].name for fault in group))
    return 0
