"""`faulttree completion`: a script by which a shell completes commands, options and what they take.

The script is made once from the parsers and is plain text from then on. Only names of cases and of aircraft are asked
for while somebody types, by the hidden option ``--names``.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from functools import partial
from typing import Any

from .. import options

SHELLS = ("bash", "zsh")

NAMES = ("cases", "aircraft")

LATEST = 200
"""As many names of cases as are offered; older ones are seldom typed."""

SAFE = re.compile(r"\w[\w.+-]*")
"""Names that a shell takes as they stand. Others are not offered: a shell would expand what stands in them, and a case
taken in from elsewhere brings its name along."""


def add_parser(commands: options.Commands, top: options.Parser) -> None:
    """The command's words. ``top`` is the parser whose commands are completed."""
    parser = options.command(
        commands, "completion", "print a script that completes commands in a shell",
        "Prints a script by which the shell completes commands, options, kinds of gear, folders, and names of cases "
        "and aircraft. It is switched on by one line in the file that the shell reads when it starts.",
        'eval "$(faulttree completion bash)"    # in ~/.bashrc',
        'eval "$(faulttree completion zsh)"     # in ~/.zshrc, below compinit',
    )  # fmt: skip
    parser.add_argument("shell", choices=SHELLS, help="the shell that the script is for")
    parser.add_argument("--names", choices=NAMES, help=argparse.SUPPRESS)
    parser.set_defaults(run=partial(run, top))


def run(top: options.Parser, given: argparse.Namespace) -> int:
    """Prints the script, or the names that it asks for."""
    if given.names:
        print(*filter(SAFE.fullmatch, _names(given.names)), sep="\n")
        return 0
    import shtab

    from faulttree.book import families

    from .. import places

    _say_what_they_take(top, families([places.shipped_book()]))
    print(shtab.complete(top, given.shell))
    return 0


def _names(of: str) -> list[str]:
    from faulttree.store import Wanted

    from ..desk import Desk

    desk = Desk()
    if of == "aircraft":
        return [profile.name for profile in desk.profiles.all()]
    return [card.name for card in desk.cases.cards(Wanted(), LATEST)[0]]


def _say_what_they_take(parser: argparse.ArgumentParser, known: Sequence[str]) -> None:
    """Marks what the library cannot see in the parsers: which words are files, folders, names, kinds of gear."""
    import shtab

    taken: dict[str, Any] = {
        "knowledge": shtab.DIRECTORY, "write": shtab.DIRECTORY, "out": shtab.FILE, "file": shtab.FILE,
        "case": _asking("cases"), "aircraft": _asking("aircraft"), "name": _asking("aircraft"),
    }  # fmt: skip
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                # Its line in the list of all commands is told instead: zsh shows one line of each.
                command.description = None
                _say_what_they_take(command, known)
        elif action.dest == "family":
            action.choices = known
        elif action.dest in taken:
            action.complete = taken[action.dest]  # type: ignore[attr-defined]  # shtab reads it there


def _asking(of: str) -> dict[str, Any]:
    """How each shell asks for names. Bash asks the very program that is being typed, wherever it lies."""
    in_bash = f"""
_faulttree_{of}() {{
  compgen -W "$("${{COMP_WORDS[0]}}" completion bash --names {of} 2>/dev/null)" -- "$1"
}}"""
    in_zsh = f"($(faulttree completion zsh --names {of} 2>/dev/null))"
    return {"bash": f"_faulttree_{of}", "zsh": in_zsh, "preamble": {"bash": in_bash}}
