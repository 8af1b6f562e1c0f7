"""`faulttree knowledge compare`: what differs between two books, and what that does to the advice."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path

from ... import options, places
from .families import must_be


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "compare", "tell what differs between two books, and what that does to the advice",
        "Holds a folder of knowledge against another one, or against what is shipped if only one is named: entries "
        "added, amended and retired, symptoms whose first causes change, regression cases that move.",
        "faulttree knowledge compare shop",
        "faulttree knowledge compare shop-2025 shop-2026 --family power-pack",
    )  # fmt: skip
    told = "one or two folders, each an overlay on what is shipped or a whole book; of two the first is the older"
    parser.add_argument("folders", metavar="FOLDER", nargs="+", type=Path, help=told)
    options.add_family(parser, "; all of them without; may be repeated", action="append", default=[])
    options.add_json(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Compares family by family; on stderr what is being done, for it takes some seconds."""
    from faulttree.book import families
    from faulttree.errors import FaulttreeError
    from faulttree.workshop.comparing import compare
    from faulttree.workshop.whereabouts import whereabouts

    from ...screens.compared import told

    if len(given.folders) > 2:
        raise FaulttreeError("name one folder or two")
    shipped = places.shipped_book()
    found = [whereabouts(shipped, [], [folder]).folders for folder in given.folders]
    before, after = found if len(found) == 2 else ((shipped,), found[0])
    chosen = given.family or [name for name in families(after) if name in families(before)]
    for name in given.family:
        must_be(name, before, after)
    if sys.stderr.isatty():
        print(f"comparing {', '.join(chosen)} ...", file=sys.stderr)
    comparisons = [compare(before, after, family) for family in chosen]
    if given.json:
        told_apart = {one.family: {**asdict(one), "family": one.family} for one in comparisons}
        print(json.dumps({"families": told_apart}, indent=2, ensure_ascii=False))
    else:
        print("\n\n".join("\n".join(told(one)) for one in comparisons))
    return 0
