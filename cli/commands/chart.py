"""`faulttree chart`: the advice for a symptom as a printed go-to chart, for a hangar without a computer."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable

from faulttree.errors import FaulttreeError

from .. import forms, options, places, settings, writing

PAGES = 4


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "chart", "print the advice for a symptom as a go-to chart",
        "Compiles the advice for one symptom into numbered steps on paper: cautions boxed before the step, \"if ... go "
        "to ...\", stop points, the minutes that the chart takes against the advisor's. A large one takes "
        "some minutes.",
        "faulttree chart lights-dead --family electromechanical --steps 6 \\",
        "    --out lights.pdf",
    )  # fmt: skip
    parser.add_argument("symptom", metavar="SYMPTOM", help="what the gear did")
    options.add_family(parser, required=True)
    options.add_fitted(parser)
    forms.add_to(parser)
    told = f"pages at most, as PDF on A4; {PAGES} without"
    parser.add_argument("--pages", type=options.whole_number, default=PAGES, metavar="NUMBER", help=told)
    parser.add_argument("--steps", type=options.whole_number, metavar="NUMBER", help="steps at most, help included")
    told = "steps at most on any one way; longer ones end in help"
    parser.add_argument("--depth", type=options.whole_number, metavar="NUMBER", help=told)
    options.add_knowledge(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Compiles the chart and writes it."""
    from faulttree.book.files import laid_over
    from faulttree.workshop.chart import Limits, fitting

    form = forms.chosen(given)
    shop = settings.read()
    overlays = shop.overlays_and(given.knowledge)
    book = places.load(given.family, given.fitted, overlays)
    if given.symptom not in book.symptoms:
        raise FaulttreeError(_unknown(given.symptom, list(book.symptoms)))
    limits = Limits(given.steps, given.depth)
    chart = fitting(book, given.symptom, given.pages, limits, shop.figures_for(book), _progress())
    chart["knowledge"]["overlays"] = laid_over(overlays, places.overlay_digests(book.family, overlays))
    if sys.stderr.isatty():
        print("\r\x1b[K", end="", file=sys.stderr)
    writing.put_out(forms.shaped(chart, form), given.out, form == "markdown")
    return 0


def _unknown(name: str, known: list[str]) -> str:
    from faulttree.book.nearest import nearest

    near = nearest(name, known)
    hint = f"the nearest is {near!r}" if near else "`faulttree knowledge list` names them"
    return f"there is no symptom {name!r} here; {hint}"


def _progress() -> Callable[[str], None]:
    """How far it has come, on one line of a terminal; nothing where nobody sits there."""
    if not sys.stderr.isatty():
        return lambda words: None
    return lambda words: print(f"\r\x1b[K{words}", end="", file=sys.stderr, flush=True)
