"""`faulttree squawk`: which symptoms a pilot's words name."""

from __future__ import annotations

import argparse
import json

from .. import places


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command's words."""
    parser = commands.add_parser("squawk", help="which symptoms a pilot's words name")
    parser.add_argument("--family", required=True)
    parser.add_argument("text")
    parser.add_argument("--knowledge", action="append", default=[], metavar="DIR")
    parser.add_argument("--json", action="store_true")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Prints what was recognised; nothing recognised is an empty list."""
    from faulttree.squawk import match

    book = places.load(given.family, [], given.knowledge)
    found = match(book, given.text)
    if given.json:
        data = {
            "symptoms": [{"id": m.id, "score": m.score, "heard": m.heard} for m in found.symptoms],
            "absent": list(found.absent),
            "unsure": [{"id": m.id, "score": m.score, "heard": m.heard} for m in found.unsure],
        }
        print(json.dumps(data, indent=2, ensure_ascii=False))
        return 0
    for label, matches in (("Recognised", found.symptoms), ("To be asked about", found.unsure)):
        for m in matches:
            print(f'{label}: {book.symptoms[m.id].name} ({m.id}, {m.score:.2f}), from "{m.heard}"')
    for name in found.absent:
        print(f"Said to be well: {book.symptoms[name].name} ({name})")
    if not (found.symptoms or found.unsure or found.absent):
        print("No symptom recognised.")
    return 0
