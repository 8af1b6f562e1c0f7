"""What the commands have in common on the command line: how one is described, and the options that several take.

The same thing has the same name, the same metavar and the same words wherever it can be given.
"""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Iterable
from typing import Any, NoReturn, TypeAlias

WIDTH = 78
"""Columns of a help text, of the eighty of a plain terminal."""

EXAMPLES = "examples:"


class Parser(argparse.ArgumentParser):
    """A parser whose errors are one message, with the nearest right value where a value is wrong."""

    def error(self, message: str) -> NoReturn:
        """Leaves with status 2. The usage of a command with many options would push the message off a screen."""
        from faulttree.clean import plain

        self.exit(2, plain(f"{self.prog}: {message} (see `{self.prog} --help`)") + "\n")

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As the one above it; but what a command does not know is told by itself, which knows what is nearest."""
        given, rest = super().parse_known_args(args, namespace)
        if rest:
            known = [option for action in self._actions for option in action.option_strings]
            near = _nearest(rest[0].partition("=")[0], known) if rest[0].startswith("-") else ""
            self.error(f"there is no place for {' '.join(map(repr, rest))}{near}")
        return given, rest

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is not None and value not in action.choices:
            choices = [str(choice) for choice in action.choices]
            near = _nearest(str(value), choices) or f"; there are {', '.join(choices)}"
            raise argparse.ArgumentError(action, f"there is no {value!r}{near}")


class _Help(argparse.RawDescriptionHelpFormatter):
    """Leaves the lines of examples as they are, to be copied, and no name of a family in two halves."""

    def _split_lines(self, text: str, width: int) -> list[str]:
        return textwrap.wrap(" ".join(text.split()), width, break_on_hyphens=False)


Commands: TypeAlias = "argparse._SubParsersAction[Parser]"


def _nearest(name: str, known: Iterable[str]) -> str:
    from faulttree.book.nearest import nearest

    near = nearest(name, known)
    return f"; the nearest is {near!r}" if near else ""


def described(text: str, *examples: str) -> dict[str, Any]:
    """What a parser is told of a command: what it does, in one paragraph, and how it is called, line by line."""
    epilog = "\n".join([EXAMPLES, *(f"  {example}" for example in examples)])
    return {
        "description": textwrap.fill(text, WIDTH, break_on_hyphens=False),
        "epilog": epilog,
        "formatter_class": _Help,
    }


def command(commands: Commands, word: str, short: str, text: str, *examples: str) -> Parser:
    """A command: its line in the list of all, and its own help."""
    return commands.add_parser(word, help=short, **described(text, *examples))


def add_family(parser: Parser, more: str = "", **how: Any) -> None:
    """``--family``; ``more`` is what holds for this command alone."""
    kinds = "kind of gear, as `faulttree knowledge list` names it"
    parser.add_argument("--family", metavar="FAMILY", help=kinds + more, **how)


def add_plain(parser: argparse.ArgumentParser) -> None:
    """``--plain``. Not given to a command, it leaves what was given before the command as it is."""
    told = "line by line, for a screen reader or a pipe"
    parser.add_argument("--plain", action="store_true", default=argparse.SUPPRESS, help=told)


def add_aircraft(parser: Parser, more: str) -> None:
    """``--aircraft``; ``more`` is what holds for this command alone."""
    parser.add_argument("--aircraft", metavar="NAME", help=f"registration or job number{more}")


def add_fitted(parser: Parser) -> None:
    """``--fitted``, as often as there are groups of options."""
    told = "an option that the aircraft has, as OPTION or GROUP=OPTION; may be repeated"
    parser.add_argument("--fitted", action="append", default=[], metavar="OPTION", help=told)


def add_knowledge(parser: Parser) -> None:
    """``--knowledge``, overlay over overlay."""
    told = "a folder of the shop's own knowledge, laid over what is shipped; may be repeated"
    parser.add_argument("--knowledge", action="append", default=[], metavar="DIR", help=told)


def add_json(parser: Parser) -> None:
    """``--json``: for other programs."""
    parser.add_argument("--json", action="store_true", help="print one JSON document, for other programs")


def add_bench(parser: Parser, more: str, **how: Any) -> None:
    """What the commands of the shop lead's bench have in common: ``--family``, ``--knowledge``, ``--json``."""
    add_family(parser, more, **how)
    add_knowledge(parser)
    add_json(parser)


def add_by(parser: Parser) -> None:
    """Who is named beside what is amended."""
    told = "your name, as it is to stand beside what is amended; the login without"
    parser.add_argument("--by", metavar="NAME", help=told)


def add_case(parser: Parser, told: str = "name of the case", **how: Any) -> None:
    """A case by its name."""
    parser.add_argument("case", metavar="CASE", help=told, **how)


def whole_number(text: str) -> int:
    """A number of things, at least one."""
    if not (text.isascii() and text.isdigit() and len(text) <= 6 and int(text)):
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 1 up")
    return int(text)


def number(text: str) -> float:
    """A number; whether it can be meant is for the command to say."""
    try:
        return float(text)
    except ValueError:
        point = ", write a point" if text.count(",") == 1 and text.replace(",", "").isdecimal() else ""
        raise argparse.ArgumentTypeError(f"{text!r} is no number{point}") from None
