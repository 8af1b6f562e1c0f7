"""The forms of a paper: chosen by `--as`, else by the name of the file that it is written to."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from faulttree.errors import FaulttreeError

from . import writing

FORMS = ("markdown", "html", "pdf", "json")
BY_SUFFIX = {".md": "markdown", ".html": "html", ".htm": "html", ".pdf": "pdf", ".json": "json"}


def add_to(parser: argparse.ArgumentParser) -> None:
    """The words of a command that writes a paper: in which form, and where to."""
    parser.add_argument("--as", dest="form", choices=FORMS, help="markdown, unless FILE is named otherwise")
    parser.add_argument("--json", dest="form", action="store_const", const="json", help="the same as --as json")
    parser.add_argument("--out", metavar="FILE", help="write here instead of to the screen")


def chosen(given: argparse.Namespace) -> str:
    """The form that is wanted. Raises FaulttreeError for a PDF on a screen, and for a file that cannot be it.

    Whether a file can be written is looked at here, before the work.
    """
    named = BY_SUFFIX.get(Path(given.out).suffix.lower()) if given.out else None
    if given.out:
        if given.form is None and named is None:
            raise FaulttreeError(f"{given.out}: name it .pdf, .html, .md or .json, or say which with --as")
        writing.must_be_able(given.out)
    form: str = given.form or named or "markdown"
    if form == "pdf" and given.out is None and sys.stdout.isatty():
        raise FaulttreeError("a PDF is nothing to read on a screen; give --out FILE")
    return form


def shaped(paper: Mapping[str, Any], form: str) -> bytes:
    """A paper in its form."""
    from faulttree import papers

    if form == "pdf":
        return papers.as_pdf(paper)
    shape = {"markdown": papers.as_markdown, "html": papers.as_html, "json": papers.as_json}[form]
    return shape(paper).encode("utf-8")
