"""`faulttree knowledge`: for shop leads. `check` reads the book and runs its cases, `list` names what is in it,
`testability` tells how well its checks tell the faults apart."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from faulttree.book.model import Book

from .. import options, places

if TYPE_CHECKING:
    from faulttree.workshop.checking import Checked


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "knowledge", "check or list the knowledge, or tell its testability",
        "For shop leads. check reads the knowledge and works its regression cases, which takes some ten seconds a "
        "family, with status 1 if anything is wrong; list names all that is in it; testability tells which faults its "
        "checks tell apart.",
        "faulttree knowledge check",
        "faulttree knowledge list --family electromechanical",
        "faulttree knowledge testability --family engine-driven",
    )  # fmt: skip
    parser.add_argument("what", choices=["check", "list", "testability"], help="what to do with it")
    options.add_family(parser, "; all of them without; may be repeated", action="append", default=[])
    options.add_knowledge(parser)
    parser.add_argument("--refined", action="store_true", help="check: judge steps as played to the end (takes longer)")
    options.add_json(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Checks or lists. Status 1 if a check found anything."""
    from faulttree.book import families

    folders = [places.shipped_book(), *(Path(folder) for folder in given.knowledge)]
    chosen = given.family or families(folders)
    if given.what == "list":
        found = {family: _listing(places.load(family, [], given.knowledge)) for family in chosen}
        print(json.dumps({"families": found}, indent=2) if given.json else _as_text(found))
        return 0
    if given.what == "testability":
        return _testability(given, chosen)
    return _checked(folders, chosen, given.refined, given.json)


def _checked(folders: list[Path], chosen: Sequence[str], refined: bool, as_json: bool) -> int:
    """Tells each family as soon as it is through, and on stderr what is being done: it takes some seconds."""
    from faulttree.workshop.checking import check_families

    if sys.stderr.isatty():
        print(f"checking {', '.join(chosen)} ...", file=sys.stderr)
    results = []
    for result in check_families(folders, chosen, refined):
        results.append(result)
        if not as_json:
            print("\n".join(_told(result)), flush=True)
    if as_json:
        found = {r.family: {"problems": r.problems, "cases": r.cases, "misses": r.misses} for r in results}
        print(json.dumps({"families": found}, indent=2, ensure_ascii=False))
    return 1 if any(r.problems or r.misses for r in results) else 0


def _testability(given: argparse.Namespace, families: Sequence[str]) -> int:
    from faulttree.workshop.testability import testability

    books = {family: places.load(family, [], given.knowledge) for family in families}
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


def _told(result: Checked) -> list[str]:
    if result.problems:
        return [*result.problems, f"{result.family}: {len(result.problems)} problems; the book does not load"]
    return [*result.misses, f"{result.family}: {result.cases} cases, {len(result.misses)} misses"]


def _listing(book: Book) -> dict[str, Any]:
    return {
        "symptoms": list(book.symptoms),
        "components": list(book.components),
        "faults": list(book.faults),
        "checks": [{"id": c.id, "outcomes": [o.id for o in c.outcomes]} for c in book.checks.values()],
        "actions": list(book.actions),
        "conditions": list(book.conditions),
        "circumstances": list(book.circumstances),
        "fitted": list(book.options),
    }


def _as_text(found: dict[str, Any]) -> str:
    lines = []
    for family, sections in found.items():
        lines.append(family)
        for section, items in sections.items():
            lines.append(f"  {section}: {len(items)}")
            for item in items:
                words = f"{item['id']}: {', '.join(item['outcomes'])}" if isinstance(item, dict) else item
                lines.append(f"    {words}")
    return "\n".join(lines)
