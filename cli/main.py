"""The command `faulttree`: words in, exit status out. 0 done; 1 the answer is no; 2 usage or bad input."""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import sys
from collections.abc import Iterator, Sequence
from importlib import import_module

from faulttree.errors import FaulttreeError

# Small matrix products stall on several threads, and one thread halves the time numpy takes to load; so before numpy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


LONGEST_NAME = 200
"""Signs of a file's name that are told: no message fills the window."""


COMMANDS = {
    "work": ("work",), "drill": ("drill",), "rank": ("rank",), "squawk": ("squawk",), "cases": ("cases",),
    "aircraft": ("aircraft",), "papers": ("record", "handover", "entry"), "chart": ("chart",),
    "knowledge": ("knowledge",),
}  # fmt: skip
"""Modules and the commands that they have, as they are listed."""


AT_ONCE, FEW_COLLECTIONS = ("rank", "squawk"), 100_000
"""Commands that answer and end, and how many new objects make one look for garbage there: the usual 700 has it look
hundreds of times while modules and book are loaded, a tenth of the time to the answer, and finds next to nothing."""


def parser(named: str = "") -> argparse.ArgumentParser:
    """The whole command line; of a command that is named nothing else is loaded, which would take longer than some."""
    from . import options

    told = options.described(
        "Works a squawk about a retractable landing gear. For certificated mechanics, in the hangar; "
        "the maker's current manual, airworthiness directives and local rules govern. Not for use in flight. "
        "Status 0 done, 1 the answer is no, 2 usage or bad input.",
        "faulttree work",
        'faulttree rank --family electromechanical --squawk "wouldnt come up"',
    )
    told["epilog"] += "\n\n`faulttree COMMAND --help` tells the options of a command, with examples."
    top = options.Parser(prog="faulttree", **told)
    top.add_argument(
        "-V",
        "--version",
        action="store_true",
        help="print the versions of program and knowledge, and where settings are",
    )
    options.add_plain(top)
    top.set_defaults(plain=False)
    top.add_argument("--traceback", action="store_true", help=argparse.SUPPRESS)
    commands = top.add_subparsers(title="commands", dest="command", metavar="COMMAND")
    wanted = [module for module, names in COMMANDS.items() if named in names]
    for module in wanted or COMMANDS:
        import_module(f".commands.{module}", __package__).add_parser(commands)
    if not wanted:
        from .commands import completion

        completion.add_parser(commands, top)
    return top


def main(words: Sequence[str] | None = None) -> int:
    """Runs one command; every error that a user can put right is one message on stderr and status 2."""
    from .ending import ends_as_by_a_key, say_the_rest

    words = sys.argv[1:] if words is None else words
    with ends_as_by_a_key() as came, _few_collections(bool(words) and words[0] in AT_ONCE):
        status = _run(words)
    say_the_rest()
    return 128 + came[0] if came else status


@contextlib.contextmanager
def _few_collections(wanted: bool) -> Iterator[None]:
    """Garbage looked for seldom, if that is wanted; as before afterwards, since a test may go on in this process."""
    before = gc.get_threshold()
    if wanted:
        gc.set_threshold(FEW_COLLECTIONS, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)


def _run(words: Sequence[str]) -> int:
    from .ending import fall_silent

    top = parser(words[0] if words else "")
    given = top.parse_args(words)
    try:
        if given.version:
            return _version()
        if given.command is None:
            return _front(top, given.plain)
        return int(given.run(given))
    except BrokenPipeError:
        fall_silent(also_files=True)
        return 0
    except (KeyboardInterrupt, EOFError):
        _say("left; what was answered is kept")
        return 130
    except Exception as problem:
        if given.traceback:
            raise
        _say(_told(problem))
        return 2


def _say(told: str) -> None:
    """On stderr, if anybody hears it: the terminal may be what is gone."""
    from .writing import at_words, window_width

    with contextlib.suppress(OSError):
        wide = window_width(sys.stderr)
        print(at_words(f"faulttree: {told}", wide) if wide else f"faulttree: {told}", file=sys.stderr)


def _front(top: argparse.ArgumentParser, plain: bool) -> int:
    """Without a command: what a person at a terminal can do; the help where nobody sits there."""
    if not plain and not (sys.stdin.isatty() and sys.stdout.isatty()):
        top.print_help()
        return 0
    from .commands import front

    return front.run(plain=plain)


def _version() -> int:
    from .commands import version

    return version.run()


def _cut(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}..."


def _told(problem: Exception) -> str:
    """What a user is told: what to put right, or that the program itself is at fault and nothing is lost."""
    from faulttree.clean import plain

    if isinstance(problem, FaulttreeError):
        return plain(str(problem))
    if isinstance(problem, OSError) and problem.strerror and problem.filename is not None:
        named = _cut(str(problem.filename))
        return plain(f"{named}: cannot be used ({problem.strerror}); see to its name, its place and its rights")
    if isinstance(problem, ValueError) and "null byte" in str(problem):
        return "a name of a file has a null character in it; take that out"
    return plain(
        f"the program failed inside ({type(problem).__name__}: {problem}). What was answered is kept. "
        "`faulttree --traceback ...` shows where; please report it"
    )
