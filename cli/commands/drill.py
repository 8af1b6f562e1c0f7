"""`faulttree drill`: the words of the command; what it does is in :mod:`drilling`, loaded only when it runs."""

from __future__ import annotations

import argparse

from .. import options

LEVELS = (0, 1, 2, 3)


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "drill", "practise on a hidden fault, without an aircraft",
        "Hides a fault in a gear of the book and lets a learner find it: the program is aircraft, pilot and helper. "
        "Then it shows what a good troubleshooter would have done, and why. Level 1 hides one fault, always there, 2 "
        "one that comes and goes or looks like a likelier one, 3 two faults or a wrong earlier repair, 0 whatever "
        "the book thinks possible. Needs a terminal, or --plain.",
        "faulttree drill",
        "faulttree drill --family electromechanical --symptom horn-silent --level 2",
        "faulttree drill --family power-pack --level 1 --seed 4711",
        "faulttree drill --lesson half-split",
        "faulttree drill --list",
        "faulttree drill --progress --out drills.html",
    )  # fmt: skip
    options.add_family(parser, "; asked for where this does not tell")
    parser.add_argument("--symptom", metavar="SYMPTOM", help="what the gear did; `any` for a surprise")
    told = "how hard it is, 1 to 3, or 0: as it comes"
    parser.add_argument("--level", type=int, choices=LEVELS, metavar="LEVEL", help=told)
    parser.add_argument("--seed", type=int, metavar="NUMBER", help="the same number gives the same drill everywhere")
    told = "a fixed drill of the family; `--list` names them"
    parser.add_argument("--scenario", metavar="SCENARIO", help=told)
    parser.add_argument("--lesson", metavar="LESSON", help="read a short lesson, and drill what it is about")
    parser.add_argument("--list", dest="listed", action="store_true", help="list lessons and fixed drills")
    parser.add_argument("--progress", action="store_true", help="tell how your drills went, by subsystem and level")
    parser.add_argument("--group", action="store_true", help="the same of all learners, for the lead of this machine")
    told = "write the progress here: .pdf, .html or .csv by its name"
    parser.add_argument("--out", metavar="FILE", help=told)
    options.add_json(parser)
    options.add_fitted(parser)
    options.add_knowledge(parser)
    options.add_plain(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Drills until it ends or the learner leaves; or lists what there is."""
    from ..drilling import listing
    from ..drilling import run as drill

    if given.progress or given.group:
        from ..progressing import run as progress

        return progress(given)
    return listing(given) if given.listed else drill(given)
