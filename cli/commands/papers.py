"""`faulttree record`, `handover` and `entry`: the papers of a case, as Markdown, HTML, PDF or JSON."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from faulttree.errors import FaulttreeError

if TYPE_CHECKING:
    from faulttree.book.model import Book
    from faulttree.case import CaseEntry

FORMS = ("markdown", "html", "pdf", "json")
BY_SUFFIX = {".md": "markdown", ".html": "html", ".htm": "html", ".pdf": "pdf", ".json": "json"}

Made: TypeAlias = "Callable[[Book, str, Sequence[CaseEntry]], Mapping[str, Any]]"


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The words of the three commands."""
    for word, help_text in (
        ("record", "the troubleshooting record of a case"),
        ("handover", "the handover sheet of a case: one page on how the aircraft stands"),
        ("entry", "a draft of the maintenance entry; a person completes and signs it"),
    ):
        parser = commands.add_parser(word, help=help_text)
        parser.add_argument("case")
        parser.add_argument("--as", dest="form", choices=FORMS, help="markdown, unless FILE tells otherwise")
        parser.add_argument("--out", metavar="FILE", help="write here instead of to the screen")
        parser.add_argument("--knowledge", action="append", default=[], metavar="DIR")
        if word == "entry":
            parser.add_argument("--rules", default="us", metavar="REGISTRY", help="us (14 CFR 43.9) or other")
        parser.set_defaults(run=partial(run, word))


def run(word: str, given: argparse.Namespace) -> int:
    """Writes a paper."""
    from faulttree.case import verify

    from ..desk import Desk

    form = given.form or (BY_SUFFIX.get(Path(given.out).suffix.lower()) if given.out else None) or "markdown"
    if form == "pdf" and given.out is None and sys.stdout.isatty():
        raise FaulttreeError("a PDF is nothing to read on a screen; give --out FILE")
    desk = Desk()
    entries = desk.cases.read(given.case)
    broken = verify(entries)
    if broken is not None:
        print(f"faulttree: case {given.case}: {broken.what}; this paper is made of what is there now", file=sys.stderr)
    book = desk.book_of(given.case, entries, given.knowledge)
    content = _written(_made(word, given)(book, given.case, entries), form)
    if given.out is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        return 0
    try:
        Path(given.out).write_bytes(content)
    except OSError as problem:
        raise FaulttreeError(f"{given.out}: cannot be written ({problem.strerror})") from problem
    print(f"Written: {given.out}", file=sys.stderr)
    return 0


def _made(word: str, given: argparse.Namespace) -> Made:
    from faulttree import papers

    if word == "handover":
        return _handover
    return papers.record if word == "record" else partial(papers.entry, rules=given.rules)


def _handover(book: Book, name: str, entries: Sequence[CaseEntry]) -> Mapping[str, Any]:
    from faulttree import papers
    from faulttree.case import add_up
    from faulttree.dialogue import Dialogue

    from .. import settings

    state = add_up(book, entries)
    advice = None
    if not state.closed and state.reported:
        advice = Dialogue(book, settings.read().figures_for(book)).advise(state)
    return papers.handover(book, name, entries, advice.suggestions if advice else ())


def _written(paper: Mapping[str, Any], form: str) -> bytes:
    from faulttree import papers

    if form == "pdf":
        return papers.as_pdf(paper)
    shape = {"markdown": papers.as_markdown, "html": papers.as_html, "json": papers.as_json}[form]
    return shape(paper).encode("utf-8")
