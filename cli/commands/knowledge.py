"""`faulttree knowledge`: for shop leads. `check` reads the book and runs its cases, `list` names what is in it,
`testability` tells how well its checks tell the faults apart."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from faulttree.book.model import Book
from faulttree.errors import FaulttreeError

from .. import places


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command's words."""
    parser = commands.add_parser("knowledge", help="check or list the knowledge base, or tell its testability")
    parser.add_argument("what", choices=["check", "list", "testability"])
    parser.add_argument("--family", action="append", default=[])
    parser.add_argument("--knowledge", action="append", default=[], metavar="DIR")
    parser.add_argument("--refined", action="store_true", help="judge steps as played to the end (takes longer)")
    parser.add_argument("--json", action="store_true")
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
    results = [_check(folders, family, given.refined) for family in chosen]
    if given.json:
        print(json.dumps({"families": dict(zip(chosen, results, strict=True))}, indent=2, ensure_ascii=False))
    else:
        for family, result in zip(chosen, results, strict=True):
            print("\n".join(_told(family, result)))
    return 1 if any(r["problems"] or r["misses"] for r in results) else 0


def _check(folders: list[Path], family: str, refined: bool) -> dict[str, Any]:
    """Problems of the book at each option and of the cases, and what the cases missed."""
    from faulttree.book import check_all_options, read_book, read_cases
    from faulttree.workshop.regression import CaseRunner

    reading = read_cases(folders, family)
    problems = [str(p) for p in (*check_all_options(folders, family), *reading.problems)]
    if problems:
        return {"problems": problems, "cases": 0, "misses": []}

    def load(fitted: tuple[str, ...]) -> Book:
        book = read_book(folders, family, fitted).book
        if book is None:
            raise FaulttreeError(f"the book does not load with {', '.join(fitted)}")
        return book

    runner = CaseRunner(load, refined)
    results = [runner.run(case) for case in reading.cases]
    misses = [f"{r.case.position}: case {r.case.id}: {miss}" for r in results for miss in r.misses]
    return {"problems": [], "cases": len(results), "misses": misses}


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


def _told(family: str, result: dict[str, Any]) -> list[str]:
    if result["problems"]:
        return [*result["problems"], f"{family}: {len(result['problems'])} problems; the book does not load"]
    return [*result["misses"], f"{family}: {result['cases']} cases, {len(result['misses'])} misses"]


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
