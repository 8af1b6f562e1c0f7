"""`faulttree knowledge`: for shop leads. `check` reads the book and runs its cases, `list` names what is in it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from faulttree.book.model import Book
from faulttree.errors import FaulttreeError

from .. import places


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command's words."""
    parser = commands.add_parser("knowledge", help="check or list the knowledge base")
    parser.add_argument("what", choices=["check", "list"])
    parser.add_argument("--family", action="append", default=[])
    parser.add_argument("--knowledge", action="append", default=[], metavar="DIR")
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
    results = [_check(folders, family) for family in chosen]
    if given.json:
        print(json.dumps({"families": dict(zip(chosen, results, strict=True))}, indent=2, ensure_ascii=False))
    else:
        for family, result in zip(chosen, results, strict=True):
            print("\n".join(_told(family, result)))
    return 1 if any(r["problems"] or r["misses"] for r in results) else 0


def _check(folders: list[Path], family: str) -> dict[str, Any]:
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

    runner = CaseRunner(load)
    results = [runner.run(case) for case in reading.cases]
    misses = [f"{r.case.position}: case {r.case.id}: {miss}" for r in results for miss in r.misses]
    return {"problems": [], "cases": len(results), "misses": misses}


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
