"""`faulttree squawk`: which symptoms a pilot's words name."""

from __future__ import annotations

import argparse
import json

from .. import options, places


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "squawk", "tell which symptoms a pilot's words name",
        "Prints the symptoms that are heard in a pilot's words, those to be asked about, and what is said to be well. "
        "Status 0 also where nothing is recognised.",
        'faulttree squawk --family electromechanical "gear wont come up, horn works"',
        'faulttree squawk --family power-pack "pump runs on and on" --json',
    )  # fmt: skip
    parser.add_argument("text", metavar="TEXT", help="the pilot's words, in quotes")
    options.add_family(parser, required=True)
    options.add_knowledge(parser)
    options.add_json(parser)
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
