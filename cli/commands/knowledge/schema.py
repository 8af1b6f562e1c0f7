"""`faulttree knowledge schema`: what an editor needs to complete and to explain the fields of knowledge files."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from ... import options


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "schema", "write JSON Schemas of the knowledge files, for editors",
        "Writes JSON Schemas (draft 2020-12) made of the forms that the program itself reads by: knowledge.schema.json "
        "for files of the book, cases.schema.json for regression cases, drills.schema.json for drills. With them an "
        "editor completes fields and tells what each is for.",
        "faulttree knowledge schema --out schemas",
    )  # fmt: skip
    parser.add_argument("--out", metavar="FOLDER", type=Path, help="write a file for each into this folder")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Writes the files, or prints both schemas by name."""
    from faulttree.book.schema import schemas

    found = schemas()
    if given.out is None:
        print(json.dumps(found, indent=2, ensure_ascii=False))
        return 0
    given.out.mkdir(parents=True, exist_ok=True)
    for name, schema in found.items():
        path = given.out / name
        path.write_text(json.dumps(schema, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
        print(path)
    return 0
