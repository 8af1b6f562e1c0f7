"""How learners come on: on the screen, or as a paper. Everybody sees their own; a lead named in the settings all."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from textwrap import wrap

from faulttree.book import families
from faulttree.drill.progress import Row, by_learner, rows
from faulttree.errors import FaulttreeError
from faulttree.papers import as_html, as_pdf
from faulttree.papers import progress as paper

from . import places, settings, writing
from .desk import Desk, user
from .drilling import as_done, practice_of
from .screens import progress as drawn

WIDTH = 80
"""Columns of the screen that longer sentences are broken for, between words."""


def run(given: argparse.Namespace) -> int:
    """Shows or writes it. Raises FaulttreeError."""
    shop, me = settings.read(), user()
    if given.group and me not in shop.leads:
        raise FaulttreeError(
            f'--group is for the lead on this machine; {settings.settings_file()} names them: leads = ["{me}"]. '
            "This is no access control"
        )
    desk = Desk()
    done = [as_done(d) for d in (desk.drills.all() if given.group else desk.drills.of(me)) if d.ended]
    desk.close()
    overlays = shop.overlays_and(given.knowledge)
    known = families([places.shipped_book(), *map(Path, overlays)])
    names = {k: v for family in known for k, v in practice_of(family, overlays).subsystems.items()}
    listed, totals = rows(done), by_learner(done)
    made = paper.progress("all learners" if given.group else me, _data(listed, names), _data(totals, names))
    if given.json:
        print(json.dumps(made, indent=2, ensure_ascii=False))
    elif given.out is None:
        print("\n".join(_on_screen(listed, totals, names)))
    else:
        writing.put_out(_written(made, given.out), given.out)
    return 0


def _on_screen(listed: Sequence[Row], totals: Sequence[Row], names: dict[str, str]) -> list[str]:
    if not listed:
        return ["No drill was worked to its end yet. `faulttree drill` begins one."]
    encoding = getattr(sys.stdout, "encoding", None) or "ascii"
    listed_so = [*drawn.picture(totals, encoding), "", *drawn.table(listed, names), "", paper.NO_ACCESS_CONTROL]
    return [part for line in listed_so for part in ([line] if len(line) <= WIDTH else wrap(line, WIDTH))]


def _data(listed: Sequence[Row], names: dict[str, str]) -> list[dict[str, object]]:
    return [asdict(row) | {"subsystem": names.get(row.subsystem, row.subsystem)} for row in listed]


def _written(made: dict[str, object], out: str) -> bytes:
    suffix = Path(out).suffix.lower()
    if suffix == ".pdf":
        return as_pdf(made)
    if suffix in (".html", ".htm"):
        return as_html(made).encode()
    if suffix == ".csv":
        return paper.as_csv(made).encode()
    raise FaulttreeError(f"{out}: name it .pdf, .html or .csv")
