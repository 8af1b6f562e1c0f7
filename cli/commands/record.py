"""`faulttree record`: the troubleshooting record of a case, as Markdown or JSON."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from faulttree.errors import FaulttreeError
from faulttree.papers.record import as_data, as_markdown
from faulttree.store import Store

from .. import places


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command's words."""
    parser = commands.add_parser("record", help="the troubleshooting record of a case")
    parser.add_argument("case")
    parser.add_argument("--as", dest="form", choices=["markdown", "json"], default="markdown")
    parser.add_argument("--out", metavar="FILE", help="write here instead of to the screen")
    parser.add_argument("--knowledge", action="append", default=[], metavar="DIR")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Writes the record."""
    entries = Store(places.case_folder()).read(given.case)
    opened = next((e for e in entries if e.kind == "opened"), None)
    if opened is None:
        raise FaulttreeError(f"case {given.case} has no beginning")
    book = places.load_as_opened(opened.data, given.knowledge)
    if given.form == "json":
        text = json.dumps(as_data(book, given.case, entries), indent=2, ensure_ascii=False) + "\n"
    else:
        text = as_markdown(book, given.case, entries)
    if given.out is None:
        sys.stdout.write(text)
        return 0
    try:
        Path(given.out).write_text(text, encoding="utf-8")
    except OSError as problem:
        raise FaulttreeError(f"{given.out}: cannot be written ({problem.strerror})") from problem
    return 0
