"""What a drill shows: the state of the job, lists, stops, and the debrief. Plain words, for window and ear alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from faulttree.book.model import Book
from faulttree.chances import minutes_in_words
from faulttree.clean import plain
from faulttree.dialogue import Choice
from faulttree.drill import LEVELS, Play, Told
from faulttree.drill.debrief import Debrief, Line
from faulttree.drill.gear import Value
from faulttree.drill.play import HELP

FOUND_SHOWN = 6
"""Findings on the main screen, the latest."""

KEYS = (
    Choice("p", "ask the pilot", "questions"),
    Choice("l", "look or test", "looks"),
    Choice("s", "set up or put back a condition", "conditions"),
    Choice("m", "mark a part as cleared, or not", "parts"),
    Choice("r", "repair: name cause, action and follow-up", "repair"),
    Choice("b", "put everything back", "restore-all"),
    Choice("d", "done: the squawk is proved gone", "finish"),
    Choice("x", "call in a specialist", "help"),
)

ENDS = {
    "solved": "Solved: the squawk is gone for good.",
    "comes back": "The proof was passed, and the squawk came back: a cause was asleep, or missed.",
    "help": "A specialist was called in.",
}


def head(play: Play) -> list[str]:
    """What is known, and how the aircraft stands."""
    book, setting = play.book, play.setting
    names = ", ".join(book.symptoms[s].name for s in setting.symptoms)
    lines = [
        f"Drill {setting.scenario or setting.seed}, level {setting.level}: {book.name}. "
        f"{minutes_in_words(play.minutes)} so far.",
        f'pilot    "{plain(setting.words)}" ({names})',
    ]
    if setting.circumstances:
        lines.append(f"around   {', '.join(book.circumstances[c].name for c in setting.circumstances)}")
    if setting.opinion:
        lines.append(f"pilot    thinks that it is this: {book.components[setting.opinion].name.lower()}")
    if setting.earlier:
        lines.append(f"earlier  done since: {book.actions[setting.earlier].name}. The squawk came again.")
    standing = ", ".join(book.conditions[c].name for c in book.conditions if c in play.state.standing)
    return [*lines, f"stands   {standing or 'as it came in, nothing set up'}"]


def findings(play: Play) -> list[str]:
    """What was found, the latest first, and what was cleared."""
    told = [found(play.book, t) for t in reversed(play.told) if t.stop is None and t.act.kind in ("check", "repair")]
    lines = [f"{'known   ' if not i else '        '} {line}" for i, line in enumerate(told[:FOUND_SHOWN])]
    if play.cleared:
        lines.append(f"cleared  {', '.join(play.book.components[c].name for c in play.cleared)}")
    return lines


def found(book: Book, told: Told) -> str:
    """One finding or repair in a line."""
    if told.act.kind == "repair":
        return f"Done: {book.actions[told.act.id].name}"
    check = book.checks[told.act.id]
    label = next(o.label for o in check.outcomes if o.id == told.outcome)
    return f"{check.name}: {label}"


def follow_ups(book: Book, told: Told) -> list[str]:
    """The checks due after a repair beside those that the learner named."""
    lines = [f"  {'left out' if c in told.unplanned else 'named':<9} {book.checks[c].name}" for c in told.due]
    lines += [f"  {'not due':<9} {book.checks[c].name}" for c in told.needless]
    return ["", "Due after it:" if told.due else "Nothing is due after it.", *lines]


def read_off(value: Value) -> str:
    """A measured value with the limit of the drill's invented manual."""
    return (
        f"Reads {value.value:g} {value.unit}. {value.limit_name} in this drill's manual: {value.limit:g} {value.unit}."
    )


def level_choices() -> list[Choice]:
    """The levels to choose from."""
    return [Choice(str(level), words, str(level)) for level, words in LEVELS.items()]


def summary(given: Debrief) -> list[str]:
    """How it ended, what it was, and the figures beside the advisor's."""
    score = given.score
    beside = f", with the cause known {score.shortest:.0f}" if score.shortest is not None else ""
    given_up = f", then gave up (help: {score.minutes - score.worked:.0f})" if score.ended == HELP else ""
    figures = {
        "minutes by the book": f"you {score.worked:.0f}{given_up}, the advisor {score.best:.0f}{beside}",
        **({"and it came back": f"{score.lost:.0f} minutes more"} if score.lost else {}),
        "risky set-ups": f"you {score.hazards}, the advisor {score.best_hazards}",
        "unsafe steps stopped": f"{score.unsafe}, and {score.out_of_order} out of order",
        "cautions not named": f"{score.missed}, and {score.claimed_wrong} named that did not apply",
        "repairs of what was good": f"{score.wasted}, causes named that were not there {score.wrong_cause}",
        "misread": str(score.misread),
        "follow-ups left out": f"{score.unplanned}, and {score.needless} named that are not due",
    }
    return [
        ENDS.get(score.ended, score.ended),
        f"What was wrong: {'; '.join(given.hidden)}.",
        plain(given.kind[:1].upper() + given.kind[1:]).rstrip(".") + ".",
        "",
        *(f"{words:<26}{figure}" for words, figure in figures.items()),
    ]


def timeline(given: Debrief) -> Iterator[RenderableType]:
    """Both paths on one timeline, a step to a row: when, who, what, and what it settled."""
    for line, who in _both(given):
        table = Table.grid(padding=(0, 1), expand=True)
        table.add_column(width=5, justify="right")
        table.add_column(width=len("advisor"))
        table.add_column(ratio=1)
        table.add_row(f"{line.at:.0f}", who, Text("\n".join(_step_lines(line))))
        yield table


def spoken_timeline(given: Debrief) -> Iterator[str]:
    """The same as sentences, one line a step."""
    for line, who in _both(given):
        yield f"Minute {line.at:.0f}, {who}: {'. '.join(_step_lines(line))}."


def _both(given: Debrief) -> list[tuple[Line, str]]:
    both = [*((line, "you") for line in given.learner), *((line, "advisor") for line in given.advisor)]
    return sorted(both, key=lambda pair: pair[0].at)


def _step_lines(line: Line) -> list[str]:
    """One step, what it settled, and what was wrong with it."""
    lines = [f"{plain(line.what)}{' (risky set-up)' if line.hazard else ''}"]
    lines += [f"why: {plain(line.why)}"] if line.why else []
    lines += [plain(line.settled)] if line.settled else []
    return [*lines, *(f"! {wrong}" for wrong in line.wrong)]


def practise(given: Debrief, lessons: Sequence[str]) -> list[str]:
    """What to practise next."""
    lines = ["To practise next:", *(f"{number}. {line}" for number, line in enumerate(given.practise, 1))]
    return [*lines, *(["", *lessons] if lessons else [])]
