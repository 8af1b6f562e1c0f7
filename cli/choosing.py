"""One choice of a list: by its key, or by the arrow keys and Enter."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from functools import partial

from .terminal import ARROWS, Meanwhile, Terminal


def choose(
    terminal: Terminal,
    draw: Callable[[int | None], None],
    listed: Sequence[str],
    others: Collection[str],
    enter: str | None = None,
    meanwhile: Meanwhile | None = None,
    read_first: bool = False,
) -> str | None:
    """The key of what was chosen of ``listed``, or one of ``others``; None as :meth:`Terminal.key` gives it.

    ``draw`` shows the screen with the arrow at a place of the list, or at none; it has been drawn once already. Enter
    takes what the arrow is at, and before that ``enter``, if anything. A list of fewer than two has no arrow.
    """
    arrows = ARROWS if len(listed) > 1 else ()
    marked: int | None = None
    while True:
        pressed = terminal.key(
            "> ", [*listed, *others, *arrows], enter if marked is None else "enter", meanwhile,
            redraw=partial(draw, marked), read_first=read_first,
        )  # fmt: skip
        if pressed == "enter" and marked is not None:
            return listed[marked]
        if pressed not in arrows:
            return pressed
        step = 1 if pressed == "down" else -1
        marked = ((-1 if marked is None and step > 0 else marked or 0) + step) % len(listed)
        draw(marked)
