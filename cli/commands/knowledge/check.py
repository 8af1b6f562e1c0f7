"""`faulttree knowledge check`: is the book sound at every option, does it make sense, and does it bring out what its
cases want?"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from faulttree.errors import FaulttreeError

from ... import options, places
from . import families

if TYPE_CHECKING:
    from faulttree.book import Problem
    from faulttree.workshop.checking import Checked


class NoRule(FaulttreeError):
    """A rule id that there is not."""


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "check", "read the knowledge, judge it and work its regression cases",
        "Reads the knowledge at every option, holds it against the rules of form and of substance, and works its "
        "regression cases: some ten seconds where nothing is remembered, two where most is. Every problem comes with "
        "its line. Status 1 if there is an error; advice is for the author to weigh.",
        "faulttree knowledge check",
        "faulttree knowledge check --explain range",
    )  # fmt: skip
    told = (
        "a folder of the shop's knowledge, or one file in it, laid over what is shipped; without it, what is shipped "
        "and the overlays of the settings"
    )
    parser.add_argument("paths", metavar="PATH", nargs="*", type=Path, help=told)
    options.add_family(parser, "; all that read PATH without; may be repeated", action="append", default=[])
    options.add_knowledge(parser)
    told = "only the cases of what changed since all was sound, and no family that did not; for each save"
    parser.add_argument("--changed", action="store_true", help=told)
    parser.add_argument(
        "--refined", action="store_true", help="tell where steps played to the end differ from the cases"
    )
    parser.add_argument(
        "--explain", metavar="RULE", help="tell what a rule wants and why, with a wrong and a right example"
    )
    parser.add_argument(
        "--as", dest="form", choices=("text", "lines", "json"), default="text",
        help="lines: file:line:column: severity: message [rule], for editors",
    )  # fmt: skip
    parser.add_argument("--json", dest="form", action="store_const", const="json", help="the same as --as json")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Checks all, telling on stderr what is being done, and then says what was found: it takes some seconds."""
    from faulttree.workshop.checking import check_families
    from faulttree.workshop.whereabouts import whereabouts

    if given.explain is not None:
        return _explain(given.explain)
    where = whereabouts(places.shipped_book(), families.folders(given)[1:], given.paths)
    chosen = given.family or where.families
    for name in chosen:
        families.must_be(name, where.folders)
    for name in chosen if given.paths else ():
        if name not in where.families:
            named = ", ".join(map(str, given.paths))
            raise families.NoFamily(
                f"{named} is read by {', '.join(where.families)}, not by {name}; leave out --family"
            )
    if sys.stderr.isatty():
        print(f"checking {', '.join(chosen)} ...", file=sys.stderr)
    remembered = places.cache_folder()
    results = list(check_families(where.folders, chosen, given.refined, remembered, given.changed))
    if given.form == "json":
        print(json.dumps(_as_json(results), indent=2, ensure_ascii=False))
    else:
        print("\n".join(_as_text(results) if given.form == "text" else _as_lines(results)))
    return 1 if any(r.problems or r.misses for r in results) else 0


def _explain(rule: str) -> int:
    from faulttree.book.nearest import did_you_mean
    from faulttree.workshop.rules import all_texts

    from ...screens.problems import explained

    texts = all_texts()
    if rule not in texts:
        raise NoRule(f"there is no rule `{rule}`; {did_you_mean(rule, texts, 'there are ' + ', '.join(texts))}")
    print("\n".join(explained(texts[rule])))
    return 0


def _found(results: Iterable[Checked]) -> list[Problem]:
    """Everything once, by file and line: what lies in a folder of several families shows in each of them."""
    return sorted({problem for r in results for problem in (*r.problems, *r.misses, *r.advice)})


def _as_text(results: Sequence[Checked]) -> list[str]:
    from faulttree.book.positions import ADVICE

    from ...screens.problems import counted, last_line, with_excerpt

    found = _found(results)
    advice = [problem for problem in found if problem.severity == ADVICE]
    errors = [problem for problem in found if problem.severity != ADVICE]
    lines = [line for problem in (*errors, *advice) for line in with_excerpt(problem)]
    lines += [
        f"{r.family}: {counted(len(r.problems), 'error', 'errors')}; no case was run"
        for r in results if r.problems and not r.cases and len(results) > 1
    ]  # fmt: skip
    cases, misses = sum(r.cases for r in results), sum(len(r.misses) for r in results)
    left = sum(r.left for r in results)
    of = f" of {cases + left}, those of what changed" if left else ""
    worked = f"{counted(cases, 'case', 'cases')}{of}, {misses} {'miss' if misses == 1 else 'misses'}"
    if not cases and errors:
        worked = "no case was run"
    lines += [f"{r.family}: unchanged since it was sound" for r in results if r.unchanged]
    return [*lines, last_line(len(errors), len(advice), worked, [r.family for r in results])]


def _as_lines(results: Iterable[Checked]) -> list[str]:
    from ...screens.problems import line_for_editors

    return [line_for_editors(problem) for problem in _found(results)]


def _as_json(results: Sequence[Checked]) -> dict[str, Any]:
    """By family the messages as they always were; and all that was found once, taken apart."""
    families = {
        r.family: {
            "problems": [str(problem) for problem in r.problems],
            "cases": r.cases,
            "misses": [f"{miss.position}: {miss.what}" for miss in r.misses],
            "advice": [str(problem) for problem in r.advice],
        }
        for r in results
    }
    found = [
        {
            "file": p.position.file, "line": p.position.line, "column": p.position.column,
            "severity": p.severity, "rule": p.rule, "what": p.what, "right": p.right,
        }
        for p in _found(results)
    ]  # fmt: skip
    return {"families": families, "found": found}
