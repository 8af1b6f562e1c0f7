"""`faulttree cases`: lists the cases; checks, takes in and archives them. Nothing here deletes."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from faulttree.clean import plain
from faulttree.errors import BadCase, FaulttreeError

from .. import options, places, settings

if TYPE_CHECKING:
    from faulttree.store import Card

SHOWN = 20
SQUAWK_WIDTH = 34
JOB_WIDTH = 12


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "cases", "list cases; check them, take one in, put one away",
        f"Lists the latest {SHOWN} cases that were not put away, or does WHAT is said with one. Nothing here deletes.",
        "faulttree cases --open",
        "faulttree cases --aircraft QQ-ELM --all",
        "faulttree cases --words rain horn",
        "faulttree cases verify",
    )  # fmt: skip
    parser.add_argument("--state", choices=["open", "left-open", "closed"], help="only those in this state")
    parser.add_argument(
        "--open", action="store_const", const="not-closed", dest="state", help="all that are not closed"
    )
    options.add_aircraft(parser, "; only cases of this one")
    parser.add_argument("--symptom", metavar="SYMPTOM", help="only those with this symptom")
    parser.add_argument("--words", nargs="+", default=[], metavar="WORD", help="only those in which all of these stand")
    parser.add_argument("--archived", action="store_true", help="those put away instead")
    parser.add_argument("--all", action="store_true", help=f"all of them, not the latest {SHOWN}")
    options.add_json(parser)
    parser.set_defaults(run=run_list)
    more = parser.add_subparsers(title="what else can be done", dest="what", metavar="WHAT")
    _add_verify(more)
    _add_import(more)
    _add_archive(more)


def _add_verify(more: options.Commands) -> None:
    verify = options.command(
        more, "verify", "check that the logs are as they were written",
        "Finds an entry that was changed, moved or taken out by other means than this program. Status 1 if a log is "
        "not as it was written.",
        "faulttree cases verify",
        "faulttree cases verify 2026-11-26-1",
    )  # fmt: skip
    options.add_case(verify, "name of a case; all are checked if none is named", nargs="*")
    verify.add_argument("--digest", metavar="HEX", help="the digest that a record of this one case shows")
    options.add_json(verify)
    verify.set_defaults(run=run_verify)


def _add_import(more: options.Commands) -> None:
    bring = options.command(
        more, "import", "take in a case from the JSON of its record",
        "Takes in a case that was worked elsewhere, or what was added to it there since.",
        "faulttree record 2026-11-26-1 --out record.json",
        "faulttree cases import record.json",
    )  # fmt: skip
    bring.add_argument("file", type=Path, metavar="FILE", help="what `faulttree record CASE --as json` wrote")
    bring.set_defaults(run=run_import)


def _add_archive(more: options.Commands) -> None:
    for word, short, text in (
        ("archive", "put a case away: lists leave it out", "Puts a case away. Lists leave it out, nothing is lost"),
        ("unarchive", "take it out again", "Takes a case out again that was put away"),
    ):
        example = "faulttree cases archive 2026-11-26-1"
        examples = [example] if word == "archive" else [example, "faulttree cases unarchive 2026-11-26-1"]
        put = options.command(more, word, short, f"{text}. Status 1 if it is so already.", *examples)
        options.add_case(put)
        put.set_defaults(run=run_archive, archived=word == "archive")


def run_list(given: argparse.Namespace) -> int:
    """Lists cases, the latest first."""
    from faulttree.store import Wanted

    from ..desk import Desk

    wanted = Wanted(given.state, given.archived, given.aircraft, given.symptom, tuple(given.words))
    cards, count = Desk().cases.cards(wanted, None if given.all or given.json else SHOWN)
    if given.symptom and not cards:
        _tell_if_unknown(given.symptom)
    if given.json:
        print(json.dumps({"cases": [asdict(card) for card in cards]}, indent=2))
        return 0
    if not cards:
        print("No such case." if any((given.state, given.aircraft, given.symptom, given.words)) else "No cases yet.")
        return 0
    print(*_lines(cards), sep="\n")
    if count > len(cards):
        print(f"The latest {len(cards)} of {count}; --all shows the rest.")
    return 0


def _tell_if_unknown(symptom: str) -> None:
    """On stderr, where no case has a symptom that no kind of gear has: then it is misspelt rather than rare."""
    from faulttree.book import families
    from faulttree.book.nearest import nearest

    try:
        overlays = settings.read().overlays
        folders = [places.shipped_book(), *map(Path, overlays)]
        known = {name for family in families(folders) for name in places.load(family, [], overlays).symptoms}
    except FaulttreeError:
        return  # That no case has it is right all the same.
    if symptom not in known:
        near = nearest(symptom, sorted(known))
        hint = f"the nearest is {near!r}" if near else "`faulttree knowledge list` names all there are"
        print(plain(f"faulttree: no gear with its usual options has a symptom {symptom!r}; {hint}"), file=sys.stderr)


def _lines(cards: Sequence[Card]) -> list[str]:
    """A table that fits eighty columns."""
    width = max([len("CASE"), *(len(plain(card.name)) for card in cards)])
    lines = [f"{'CASE':{width}}  {'STATE':9}  {'AIRCRAFT':{JOB_WIDTH}}  SQUAWK"]
    for card in cards:
        job = _cut(card.job, JOB_WIDTH)
        lines.append(
            f"{plain(card.name):{width}}  {card.state:9}  {job:{JOB_WIDTH}}  {_cut(card.squawk, SQUAWK_WIDTH)}"
        )
    return lines


def _cut(words: str, width: int) -> str:
    line = " ".join(plain(words).split())
    return line if len(line) <= width else line[: width - 3] + "..."


def run_verify(given: argparse.Namespace) -> int:
    """Checks logs; 1 where one is not as it was written."""
    from faulttree.store import Wanted, verify_cases

    from ..desk import Desk

    if given.digest is not None and len(given.case) != 1:
        raise FaulttreeError("--digest is that of one case; name the case too")
    cases = Desk().cases
    names = given.case or [card.name for away in (False, True) for card in cases.cards(Wanted(archived=away))[0]]
    verdicts = verify_cases(cases, names, given.digest)
    wrong = [verdict for verdict in verdicts if verdict.wrong]
    if given.json:
        print(json.dumps({"cases": [asdict(verdict) for verdict in verdicts]}, indent=2))
    else:
        for verdict in wrong or (verdicts if given.case else []):
            told = verdict.wrong or f"as written, {verdict.entries} entries, last digest {verdict.digest}"
            print(plain(f"{verdict.name}: {told}"))
        print(f"{len(verdicts)} checked, {len(wrong)} not as written.")
    return 1 if wrong else 0


def run_import(given: argparse.Namespace) -> int:
    """Takes in a case."""
    from faulttree.papers import entries_of
    from faulttree.store import bring_in

    from ..desk import Desk

    try:
        paper = json.loads(given.file.read_text(encoding="utf-8"))
    except OSError as problem:
        raise FaulttreeError(f"{given.file}: cannot be read ({problem.strerror})") from problem
    except (ValueError, RecursionError) as problem:
        line = f":{problem.lineno}" if isinstance(problem, json.JSONDecodeError) else ""
        raise BadCase(f"{given.file}{line}: not JSON; give the file of `faulttree record CASE --as json`") from problem
    try:
        entries = entries_of(paper)
    except BadCase as problem:
        raise BadCase(f"{given.file}: {problem}") from problem
    brought = bring_in(Desk().cases, str(paper.get("case") or given.file.stem), entries)
    print(f"Case {brought.name}: {brought.added} entries taken in." if brought.added else
          f"Case {brought.name} is here already, with all of these entries.")  # fmt: skip
    return 0


def run_archive(given: argparse.Namespace) -> int:
    """Puts a case away, or takes it out again: one more entry in its log."""
    from ..desk import Desk, user

    desk = Desk()
    entries = desk.cases.read(given.case)
    card = desk.cases.card(given.case)
    word = "put away" if given.archived else "in the lists"
    if card is not None and card.archived == given.archived:
        print(f"Case {given.case} is {word} already.", file=sys.stderr)
        return 1
    desk.cases.append(given.case, len(entries), user(), [("archived", {"archived": given.archived})])
    print(f"Case {given.case} is {word}.")
    return 0
