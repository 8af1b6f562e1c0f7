"""What `faulttree` without a command offers at a terminal: a new squawk, one of the open cases, or a drill."""

from __future__ import annotations

import argparse
from functools import partial

from rich.console import RenderableType

from faulttree.dialogue.prompts import Choice

from ..desk import Desk, user
from ..plain_terminal import open_terminal
from ..screens import prompt as screens
from ..screens import spoken
from ..terminal import Terminal
from ..worker import run as work

DRILL = " drill"
"""No name of a case: those have no blank before them."""


def run(terminal: Terminal | None = None, plain: bool = False) -> int:
    """Asks, and goes there; ``plain`` line by line."""
    terminal = terminal or open_terminal(plain)
    desk = Desk()
    cards = desk.unfinished()
    waiting = _waiting(desk)
    desk.close()
    choices = [Choice("n", "a new squawk", ""), Choice("d", "a drill, without an aircraft", DRILL, waiting)]
    choices += [
        Choice(str(i), f"{card.job or 'aircraft not named'}: {card.squawk or 'squawk not written yet'}", card.name,
               f"{card.name}, {card.state.replace('-', ' ')}")
        for i, card in enumerate(cards, 1)
    ]  # fmt: skip
    title = "Landing-gear troubleshooting, in the hangar. The maker's current manual governs."
    parts: list[RenderableType]
    if terminal.plain:
        parts = [title, *spoken.choices(choices), spoken.keys(())]
    else:
        parts = [title, "", screens.choices(choices), "", screens.key_line(()).replace("quit, keep all", "quit")]
    terminal.page(*parts)
    while True:
        redraw = partial(terminal.page, *parts)
        pressed = terminal.key("> ", [*(choice.key for choice in choices), "q", "?"], redraw=redraw)
        if pressed == "?":
            terminal.show("n begins a new case, d a drill; a number goes on with a case. `faulttree --help` lists all.")
            continue
        break
    if pressed == "q" or pressed is None:
        return 0
    case = next(choice.value for choice in choices if choice.key == pressed)
    if case == DRILL:
        return _drill(terminal)
    given = argparse.Namespace(
        case=case or None,
        family=None,
        fitted=[],
        knowledge=[],
        aircraft=None,
        plain=terminal.plain,
        cases_told=True,
    )
    return work(given, terminal)


def _waiting(desk: Desk) -> str:
    """What is said of a drill that waits to be gone on with; nothing is loaded where none was left."""
    if all(drill.ended for drill in desk.drills.of(user())):
        return ""
    from .. import drilling, settings
    from ..places import BadBook

    try:
        begun = drilling.left_behind(desk, settings.read().overlays)
    except BadBook:
        return ""  # told once it is asked for; the front page is there for whatever else can be done
    return f"one waits to be gone on with: {drilling.told_of(begun)}" if begun is not None else ""


def _drill(terminal: Terminal) -> int:
    from ..drilling import run as drill

    given = argparse.Namespace(
        family=None, symptom=None, level=None, seed=None, scenario=None, lesson=None, fitted=[], knowledge=[],
        plain=terminal.plain,
    )  # fmt: skip
    return drill(given, terminal)
