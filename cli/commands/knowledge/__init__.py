"""`faulttree knowledge`: the shop lead's bench, a module for each thing that can be done with the knowledge."""

from __future__ import annotations

from ... import options


def add_parser(commands: options.Commands) -> None:
    """The words of the command, and of all that can be done with it."""
    from . import check, compare, draw, listing, new, rates, schema, show, testability

    parser = options.command(
        commands, "knowledge", "check, list and judge the knowledge",
        "For shop leads: what can be done with the knowledge, of the shop's own in --knowledge too.",
        "faulttree knowledge check",
        "faulttree knowledge list --family electromechanical",
    )  # fmt: skip
    inner = parser.add_subparsers(title="what to do", dest="what", metavar="WHAT", required=True)
    for one in (check, compare, listing, show, draw, testability, new, rates, schema):
        one.add_parser(inner)
