"""The command `faulttree`: words in, exit status out. 0 done; 1 the answer is no; 2 usage or bad input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from faulttree.errors import FaulttreeError


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    from .commands import knowledge, rank, record, squawk, work

    top = argparse.ArgumentParser(
        prog="faulttree",
        description="Works a squawk about a retractable landing gear. For certificated mechanics, in the hangar; "
        "the maker's current manual, airworthiness directives and local rules govern. Not for use in flight.",
    )
    top.add_argument("--traceback", action="store_true", help=argparse.SUPPRESS)
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    for command in (work, rank, squawk, record, knowledge):
        command.add_parser(commands)
    return top


def main(words: Sequence[str] | None = None) -> int:
    """Runs one command; every error that a user can put right is one message on stderr and status 2."""
    top = parser()
    given = top.parse_args(words)
    if given.command is None:
        top.print_help()
        return 0
    try:
        return int(given.run(given))
    except FaulttreeError as problem:
        if given.traceback:
            raise
        print(f"faulttree: {problem}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        return 0
