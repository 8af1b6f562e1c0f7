"""`faulttree knowledge draw`: the fault tree of a symptom with cut sets and importance, in letters or as a picture."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NoReturn

from faulttree.errors import FaulttreeError

from ... import options, places
from . import families

WIDTH = 80
PRINTED, ON_PAGE = 12, 40
"""Cut sets that are told on the screen (and faults), and on a page, unless --most says otherwise."""

GATES = {"any_of": "any of these", "all_of": "all of these together", "not": "none of these"}
GUIDES, PLAIN_GUIDES = ("├─ ", "└─ ", "│  ", "   "), ("+- ", "+- ", "|  ", "   ")
"""Before a branch, the last branch, what lies below a branch, what lies below the last one."""


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "draw", "draw the fault tree of a symptom, with cut sets and importance",
        "Draws the fault tree of a symptom with the gate symbols of NUREG-0492, its minimal cut sets and the "
        "importance of its faults. Without --family it is that of the first kind of gear that has the symptom. What "
        "does not fit on an A3 page goes on further sheets, joined by transfers: FILE-2.svg and so on.",
        "faulttree knowledge draw horn-silent --family power-pack",
        "faulttree knowledge draw will-not-retract --out will-not-retract.svg",
        "faulttree knowledge draw will-not-retract --out will-not-retract.html",
    )  # fmt: skip
    parser.add_argument("symptom", metavar="SYMPTOM", help="the symptom's id or name")
    options.add_fitted(parser)
    parser.add_argument("--out", metavar="FILE", help="write here instead of to the screen; .svg, .html or .json")
    told = "flight hours since the gear was last known good"
    parser.add_argument("--hours", type=options.number, metavar="HOURS", help=told)
    parser.add_argument(
        "--depth", type=options.whole_number, metavar="NUMBER", help="levels of gates drawn; all without"
    )
    told = f"cut sets that are told; without it {PRINTED} on the screen, {ON_PAGE} on a page"
    parser.add_argument("--most", type=options.whole_number, metavar="NUMBER", help=told)
    options.add_bench(parser, "; the first that has the symptom without")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Draws it on the screen, or writes it."""
    from faulttree.book.files import laid_over
    from faulttree.workshop.treefigures import tree_paper

    suffix = Path(given.out).suffix.lower() if given.out else ""
    if given.out and suffix not in (".svg", ".html", ".htm", ".json"):
        raise FaulttreeError(f"{given.out}: the name of the file has to end in .svg, .html or .json")
    found = families.first_with(given, lambda book: _symptom(book, given.symptom) is not None)
    if found is None:
        _not_found(given)
    most = given.most or (ON_PAGE if suffix.startswith(".htm") else None)
    paper = tree_paper(found, str(_symptom(found, given.symptom)), given.hours, given.depth, most)
    overlays = families.overlays(given)
    paper["knowledge"]["overlays"] = laid_over(overlays, places.overlay_digests(found.family, overlays))
    if given.out:
        _write(Path(given.out), suffix, paper)
    elif given.json:
        print(json.dumps(paper, indent=2, ensure_ascii=False))
    else:
        print("\n".join(as_text(paper, given.most or PRINTED, sys.stdout.encoding)))
    return 0


def _symptom(book: Any, asked: str) -> str | None:
    """The id of the symptom with this id or name."""
    same = " ".join(asked.split()).casefold()
    return next((s.id for s in book.symptoms.values() if same in (s.id, s.name.casefold())), None)


def _not_found(given: argparse.Namespace) -> NoReturn:
    from faulttree.workshop.finding import near

    names = {s.id: s.name for book in families.books(given) for s in book.symptoms.values()}
    families.not_found("symptom", given.symptom, near(given.symptom, names))


def _write(out: Path, suffix: str, paper: Mapping[str, Any]) -> None:
    from faulttree.papers.treepage import svgs_of, tree_page

    if suffix == ".svg":
        svgs = svgs_of(paper)
        files = {out if n == 1 else out.with_stem(f"{out.stem}-{n}"): svg for n, svg in enumerate(svgs, 1)}
    else:
        page = json.dumps(paper, indent=2, ensure_ascii=False) + "\n" if suffix == ".json" else tree_page(paper)
        files = {out: page}
    for name, content in files.items():
        try:
            name.write_text(content, encoding="utf-8")
        except OSError as problem:
            raise FaulttreeError(f"{name}: cannot be written ({problem.strerror})") from problem
        print(f"Written: {name}", file=sys.stderr)


# -- in letters --------------------------------------------------------------------------------------------


def as_text(paper: Mapping[str, Any], most: int, encoding: str | None) -> Iterator[str]:
    """Lines of at most ``WIDTH`` signs: the tree, its cut sets, the importance of its faults."""
    from faulttree.clean import cleaned

    told = cleaned(paper)
    yield from _wrapped(f"{told['symptom']['name']} ({told['name']}): {_gate(told['tree'])}", "", "")
    guides = GUIDES if _can_show("".join(GUIDES), encoding) else PLAIN_GUIDES
    yield from _branches(told["tree"], "", guides)
    yield from ("", *_cut_sets(told, most), "", *_importance(told, most))


def _branches(node: Mapping[str, Any], lead: str, guides: tuple[str, str, str, str]) -> Iterator[str]:
    for place, one in enumerate(node["below"], 1):
        last = place == len(node["below"])
        under = lead + guides[3 if last else 2]
        below = under + (guides[2] if one["below"] else "")
        yield from _wrapped(_words(one), lead + guides[1 if last else 0], below)
        yield from _branches(one, under, guides)


def _words(node: Mapping[str, Any]) -> str:
    """A node in words: number and fault, event and gate with the letter that transfers know it by."""
    mark = f" [{node['mark']}]" if node["mark"] else ""
    if node["kind"] == "gate":
        return f"{node['name']}{mark}: {_gate(node)}"
    if node["kind"] == "transfer":
        return f"{node['name']}: see{mark}"
    return f"{node['mark']} {node['name']}" if node["kind"] == "basic" else f"<> {node['name']}"


def _gate(node: Mapping[str, Any]) -> str:
    return f"at least {node['count']} of these" if node["gate"] == "at_least" else GATES[node["gate"]]


BOUNDS = (
    "“None of these” lies below: some sets bring it about only where something else is in order, so that their "
    "probabilities are upper bounds. That of any of all, and the importances, are exact."
)


def _cut_sets(paper: Mapping[str, Any], most: int) -> Iterator[str]:
    from faulttree.papers.treepage import figure, share

    sets, names = paper["cut_sets"][:most], {fault["id"]: fault["name"] for fault in paper["faults"]}
    yield f"Minimal cut sets in {paper['hours']:g} flight hours, {len(sets)} of {paper['cut_sets_in_all']}:"
    yield "       share  probability  faults"
    for one in sets:
        told = " + ".join(
            f"{number} {names[name]}".strip() for number, name in zip(one["numbers"], one["faults"], strict=True)
        )
        yield from _wrapped(told, f"{share(one['share']):>12}{figure(one['probability']):>13}  ", " " * 27)
    yield f"       any of all         {figure(paper['probability'])}"
    if paper["bounds"]:
        yield from _wrapped(BOUNDS, "", "")


def _importance(paper: Mapping[str, Any], most: int) -> Iterator[str]:
    from faulttree.papers.treepage import figure, share

    faults = paper["faults"][:most]
    yield f"Importance, {len(faults)} of {len(paper['faults'])} faults:"
    yield "  Fussell-Vesely  Birnbaum  probability  fault"
    for fault in faults:
        figures = f"{share(fault['fussell_vesely']):>16}{fault['birnbaum']:>10.3f}{figure(fault['probability']):>13}  "
        yield from _wrapped(f"{fault['number']} {fault['name']}".strip(), figures, " " * len(figures))


def _wrapped(words: str, first: str, other: str) -> Sequence[str]:
    return textwrap.wrap(
        words, WIDTH, initial_indent=first, subsequent_indent=other, break_on_hyphens=False, drop_whitespace=True
    ) or [first]  # fmt: skip


def _can_show(signs: str, encoding: str | None) -> bool:
    try:
        signs.encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
