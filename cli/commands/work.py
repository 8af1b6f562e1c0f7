"""`faulttree work`: the words of the command; what it does is in :mod:`worker`, loaded only when it runs."""

from __future__ import annotations

import argparse


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """The command's words."""
    parser = commands.add_parser("work", help="work a squawk, or go on with one")
    parser.add_argument("case", nargs="?", help="a case to go on with")
    parser.add_argument("--aircraft", metavar="NAME", help="registration or job number, as in its profile")
    parser.add_argument("--family", help="kind of gear, where there is no profile; asked for if not given")
    parser.add_argument("--fitted", action="append", default=[], metavar="OPTION")
    parser.add_argument("--knowledge", action="append", default=[], metavar="DIR")
    parser.add_argument("--plain", action="store_true", help="line by line, for a screen reader or a pipe")
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Works until the case ends or the user leaves."""
    from ..worker import run as work

    return work(given)
