"""`faulttree work`: the words of the command; what it does is in :mod:`worker`, loaded only when it runs."""

from __future__ import annotations

import argparse

from .. import options


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "work", "work a squawk, or go on with a case",
        "Asks, proposes one step after another and keeps every answer, from the pilot's words to a closed case. Needs "
        "a terminal, or --plain; q leaves at any time, and the case goes on where it stopped.",
        "faulttree work",
        "faulttree work --aircraft QQ-ELM",
        "faulttree work --family power-pack",
        "faulttree work --learner",
        "faulttree work 2026-11-26-1",
    )  # fmt: skip
    options.add_case(parser, "a case to go on with; a new one is begun without", nargs="?")
    options.add_aircraft(parser, "; its profile is used if there is one")
    options.add_family(parser, "; asked for where neither this nor a profile tells")
    options.add_fitted(parser)
    options.add_knowledge(parser)
    told = "ask for your own ranking before the program's is shown"
    parser.add_argument("--learner", action="store_true", help=told)
    options.add_plain(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Works until the case ends or the user leaves."""
    from ..worker import run as work

    return work(given)
