"""`faulttree knowledge list`: the ids of all that is in the book, as other programs need them."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from faulttree.book.model import Book

from ... import options, places, settings


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "list", "name all that is in the knowledge",
        "Names symptoms, components, faults, events with the points of chains, checks with their outcomes, actions, "
        "conditions, cautions, equipment, limits, circumstances, options.",
        "faulttree knowledge list",
        "faulttree knowledge list --family electromechanical --json",
    )  # fmt: skip
    options.add_bench(parser, "; all of them without; may be repeated", action="append", default=[])
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Lists, as text or as JSON."""
    from faulttree.book import families

    overlays = settings.read().overlays_and(given.knowledge)
    chosen = given.family or families([places.shipped_book(), *map(Path, overlays)])
    found = {family: _listing(places.load(family, [], overlays)) for family in chosen}
    print(json.dumps({"families": found}, indent=2) if given.json else _as_text(found))
    return 0


def _listing(book: Book) -> dict[str, Any]:
    return {
        "symptoms": list(book.symptoms),
        "components": list(book.components),
        "faults": list(book.faults),
        "events": [name for name in book.events if "/" not in name],
        "checks": [{"id": c.id, "outcomes": [o.id for o in c.outcomes]} for c in book.checks.values()],
        "actions": list(book.actions),
        "conditions": list(book.conditions),
        "cautions": list(book.cautions),
        "equipment": list(book.equipment),
        "limits": list(book.limits),
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
