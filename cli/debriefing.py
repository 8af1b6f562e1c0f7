"""After a drill: what it was, the score, both paths on one timeline, what to practise; the details at a key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from rich.console import RenderableType

from faulttree.drill import Play
from faulttree.drill.advised import Advised
from faulttree.drill.debrief import Debrief, debrief

from .screens import drill as drawn
from .terminal import Terminal

OTHER_LINES = 6
"""Lines of a page that are not the debrief's: title, keys, line to answer on."""

END, DETAILS = "q", "d"


def show(terminal: Terminal, play: Play, advised: Advised, keep: Callable[[Debrief], None]) -> None:
    """Works the drill by the advisor too, keeps what came of it, and shows the two beside each other."""
    terminal.page("The advisor works the same drill ...")
    given = debrief(play, advised)
    keep(given)
    if _paged(terminal, "Debrief", _short(terminal, play, given), details=True) == DETAILS:
        _paged(terminal, "Details", _details(terminal, given))


def _short(terminal: Terminal, play: Play, given: Debrief) -> list[RenderableType]:
    lessons = [play.bench.practice.lessons[name] for name in given.lessons]
    named = [f"Lesson: {lesson.name} (faulttree drill --lesson {lesson.id})" for lesson in lessons]
    steps = drawn.spoken_timeline(given) if terminal.plain else drawn.timeline(given)
    first = [*drawn.summary(given), *drawn.left_the_way(given), "", *drawn.practise(given, named), ""]
    return ["\n".join(first), *steps]  # in one piece, so that what matters most stands on the first page


def _details(terminal: Terminal, given: Debrief) -> list[RenderableType]:
    steps = drawn.spoken_timeline(given, full=True) if terminal.plain else drawn.timeline(given, full=True)
    better = "\n".join(["", *drawn.better_steps(given), ""])
    return ["\n".join(drawn.figures(given)), better, *steps]


def _paged(terminal: Terminal, title: str, parts: Sequence[RenderableType], details: bool = False) -> str:
    """A page at a time; the key that ended it."""
    pages = terminal.pages(parts, OTHER_LINES)
    for number, page in enumerate(pages, 1):
        last = number == len(pages)
        words = f"y {'end' if last else 'more'}{'   d details' if details else ''}{'' if last else '   q end'}"
        shown = [f"{title}, page {number} of {len(pages)}", "", *page, "", words]
        terminal.page(*shown)
        keys = ["y", END, *([DETAILS] if details else [])]
        pressed = terminal.key("> ", keys, "y", redraw=partial(terminal.page, *shown))
        if pressed in (END, DETAILS):
            return pressed
    return END
