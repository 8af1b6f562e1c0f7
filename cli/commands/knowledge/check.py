"""`faulttree knowledge check`: is the book sound at every option, and does it bring out what its cases want?"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ... import options, places

if TYPE_CHECKING:
    from faulttree.workshop.checking import Checked


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "check", "read the knowledge and work its regression cases",
        "Reads the knowledge at every option and works its regression cases, which takes some five seconds a family. "
        "Status 1 if anything is wrong.",
        "faulttree knowledge check",
    )  # fmt: skip
    options.add_family(parser, "; all of them without; may be repeated", action="append", default=[])
    options.add_knowledge(parser)
    parser.add_argument(
        "--refined", action="store_true", help="tell where steps played to the end differ from the cases"
    )
    options.add_json(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Tells each family as soon as it is through, and on stderr what is being done: it takes some seconds."""
    from faulttree.book import families
    from faulttree.workshop.checking import check_families

    folders = [places.shipped_book(), *(Path(folder) for folder in given.knowledge)]
    chosen = given.family or families(folders)
    if sys.stderr.isatty():
        print(f"checking {', '.join(chosen)} ...", file=sys.stderr)
    results = []
    for result in check_families(folders, chosen, given.refined):
        results.append(result)
        if not given.json:
            print("\n".join(_told(result)), flush=True)
    if given.json:
        found = {r.family: {"problems": r.problems, "cases": r.cases, "misses": r.misses} for r in results}
        print(json.dumps({"families": found}, indent=2, ensure_ascii=False))
    return 1 if any(r.problems or r.misses for r in results) else 0


def _told(result: Checked) -> list[str]:
    if result.problems:
        return [*result.problems, f"{result.family}: {len(result.problems)} problems; the book does not load"]
    return [*result.misses, f"{result.family}: {result.cases} cases, {len(result.misses)} misses"]
