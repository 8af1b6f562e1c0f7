"""`faulttree aircraft`: profiles of the shop's aircraft, entered once in a short dialogue and kept by version."""

from __future__ import annotations

import argparse
import json
import shlex
from dataclasses import asdict
from typing import TYPE_CHECKING

from faulttree.clean import plain
from faulttree.errors import FaulttreeError

from .. import options

if TYPE_CHECKING:
    from faulttree.store.aircraft import Profile


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "aircraft", "list the aircraft; enter, change or show a profile",
        "Lists the aircraft that have a profile: kind of gear, options, system voltage, limits with their manual "
        "reference. With a NAME it asks for the profile of one, which needs a terminal, or shows it.",
        "faulttree aircraft",
        "faulttree aircraft QQ-ELM",
        "faulttree aircraft QQ-ELM --show",
    )  # fmt: skip
    parser.add_argument("name", nargs="?", metavar="NAME", help="registration or job number; all are listed without")
    parser.add_argument("--show", action="store_true", help="show the profile and ask nothing; so does --json")
    options.add_knowledge(parser)
    options.add_json(parser)
    options.add_plain(parser)
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Lists, shows, or enters."""
    from ..desk import Desk

    desk = Desk()
    if given.name is None:
        profiles = desk.profiles.all()
        print(json.dumps({"aircraft": [asdict(p) for p in profiles]}, indent=2) if given.json else _list(profiles))
        return 0
    profile = desk.profiles.find(given.name)
    if given.show or given.json:
        if profile is None:
            raise FaulttreeError(
                f"there is no profile of {given.name!r}; `faulttree aircraft {shlex.quote(given.name)}` makes one"
            )
        print(json.dumps(asdict(profile), indent=2) if given.json else plain("\n".join(_lines(profile))))
        return 0
    from ..plain_terminal import open_terminal
    from ..profiler import run as enter

    return enter(desk, given.name, profile, given.knowledge, open_terminal(given.plain))


def _list(profiles: list[Profile]) -> str:
    if not profiles:
        return "No aircraft yet; `faulttree aircraft NAME` enters one."
    lines = []
    for p in profiles:
        limits = f"{len(p.limits)} limit" + "s" * (len(p.limits) != 1)
        lines.append(f"{p.name:14}  {p.family:18}  {limits}, version {p.version}")
    return plain("\n".join(lines))


def _lines(profile: Profile) -> list[str]:
    lines = [f"{profile.name}, version {profile.version}, {profile.at}, {profile.who}", f"Gear: {profile.family}"]
    lines.append(f"System voltage: {profile.voltage or 'not stated'}")
    lines += [f"Fitted: {group}={option}" for group, option in profile.fitted.items()]
    lines += [f"Limit: {name} {v['value']:g} {v['unit']}, {v['reference']}" for name, v in profile.limits.items()]
    return lines
