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

if TYPE_CHECKING:
    from faulttree.store import Card

SHOWN = 20
SQUAWK_WIDTH = 34
JOB_WIDTH = 12


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command's words."""
    parser = commands.add_parser("cases", help="list cases; check them, take one in, put one away")
    parser.add_argument("--state", choices=["open", "left-open", "closed"], help="only those in this state")
    parser.add_argument("--open", action="store_const", const="open", dest="state", help="the same as --state open")
    parser.add_argument("--aircraft", metavar="NAME", help="only those of this registration or job number")
    parser.add_argument("--symptom", metavar="ID", help="only those with this symptom")
    parser.add_argument("--words", nargs="+", default=[], metavar="WORD", help="only those in which all of these stand")
    parser.add_argument("--archived", action="store_true", help="those put away instead")
    parser.add_argument("--all", action="store_true", help=f"all of them, not the latest {SHOWN}")
    parser.add_argument("--json", action="store_true")
    parser.set_defaults(run=run_list)
    more = parser.add_subparsers(dest="what", metavar="WHAT")
    verify = more.add_parser("verify", help="whether the logs are as they were written")
    verify.add_argument("case", nargs="*", help="all of them if none is named")
    verify.add_argument("--digest", metavar="HEX", help="the digest that a record of this one case shows")
    verify.add_argument("--json", action="store_true")
    verify.set_defaults(run=run_verify)
    bring = more.add_parser("import", help="take in a case from the JSON of its record")
    bring.add_argument("file", type=Path)
    bring.set_defaults(run=run_import)
    for word, help_text in (("archive", "put a case away: lists leave it out"), ("unarchive", "take it out again")):
        put = more.add_parser(word, help=help_text)
        put.add_argument("case")
        put.set_defaults(run=run_archive, archived=word == "archive")


def run_list(given: argparse.Namespace) -> int:
    """Lists cases, the latest first."""
    from faulttree.store import Wanted

    from ..desk import Desk

    wanted = Wanted(given.state, given.archived, given.aircraft, given.symptom, tuple(given.words))
    cards, count = Desk().cases.cards(wanted, None if given.all or given.json else SHOWN)
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


def _lines(cards: Sequence[Card]) -> list[str]:
    """A table that fits eighty columns."""
    width = max([len("CASE"), *(len(card.name) for card in cards)])
    lines = [f"{'CASE':{width}}  {'STATE':9}  {'AIRCRAFT':{JOB_WIDTH}}  SQUAWK"]
    for card in cards:
        job = _cut(card.job, JOB_WIDTH)
        lines.append(f"{card.name:{width}}  {card.state:9}  {job:{JOB_WIDTH}}  {_cut(card.squawk, SQUAWK_WIDTH)}")
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
            print(f"{verdict.name}: {told}")
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
    brought = bring_in(Desk().cases, str(paper.get("case") or given.file.stem)[:80], entries)
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
