"""`faulttree record`, `handover` and `entry`: the papers of a case, as Markdown, HTML, PDF or JSON."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, TypeAlias

from .. import forms, options, writing

if TYPE_CHECKING:
    from faulttree.book.model import Book
    from faulttree.case import CaseEntry

Made: TypeAlias = "Callable[[Book, str, Sequence[CaseEntry]], Mapping[str, Any]]"


TOLD = (
    (
        "record", "write the troubleshooting record of a case",
        "Writes what was reported, found, done and proved, and how the ranking moved, with every entry of the log. A "
        "log that is not as it was written is told of on stderr; the paper is made all the same.",
    ),
    (
        "handover", "write the handover sheet: how the aircraft stands now",
        "Writes one page for whoever takes over: how the aircraft stands right now, what not to touch, what is open "
        "and what comes next.",
    ),
    (
        "entry", "draft the maintenance entry; a person completes and signs",
        "Writes a draft of the maintenance entry. Date, name, signature and certificate stay blank: a person completes "
        "and signs it.",
    ),
)  # fmt: skip
"""The three commands: word, line in the list of all, what each does."""


def add_parser(commands: options.Commands) -> None:
    """The words of the three commands."""
    for word, short, text in TOLD:
        parser = options.command(
            commands, word, short, text,
            f"faulttree {word} 2026-11-26-1",
            f"faulttree {word} 2026-11-26-1 --out {word}.pdf",
            f"faulttree {word} 2026-11-26-1 --json",
        )  # fmt: skip
        options.add_case(parser)
        forms.add_to(parser)
        if word == "entry":
            parser.add_argument("--rules", default="us", metavar="REGISTRY", help="us (14 CFR 43.9) or other")
        options.add_knowledge(parser)
        parser.set_defaults(run=partial(run, word))


def run(word: str, given: argparse.Namespace) -> int:
    """Writes a paper."""
    from faulttree.case import verify

    from ..desk import Desk

    form = forms.chosen(given)
    desk = Desk()
    entries = desk.cases.read(given.case)
    broken = verify(entries)
    if broken is not None:
        print(f"faulttree: case {given.case}: {broken.what}; this paper is made of what is there now", file=sys.stderr)
    book = desk.book_of(given.case, entries, given.knowledge)
    paper = _made(word, given)(book, given.case, entries)
    writing.put_out(forms.shaped(paper, form), given.out, form == "markdown")
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
        # Whoever takes over gets the step that turns out best, not the quick choice of a screen that could not wait.
        thinking = Dialogue(book, settings.read().figures_for(book)).thinking
        thinking.refine(state, lambda: False)
        advice = thinking.best(state)
    return papers.handover(book, name, entries, advice.suggestions if advice else ())
