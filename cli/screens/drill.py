"""What a drill shows: the state of the job, lists, stops, and the debrief. Plain words, for window and ear alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from faulttree.book.model import Book
from faulttree.chances import minutes_in_words
from faulttree.clean import plain
from faulttree.dialogue import Choice
from faulttree.drill import LEVELS, Act, Play, Told
from faulttree.drill.debrief import Debrief, Line
from faulttree.drill.gear import Value
from faulttree.drill.play import HELP

FOUND_SHOWN = 5
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
    scenario = play.bench.practice.scenarios.get(setting.scenario)
    lines = [
        f"Drill {setting.seed if scenario is None else repr(scenario.name)}, level {setting.level}: {book.name}. "
        f"{minutes_in_words(play.minutes)} so far.",
        f'pilot    "{plain(setting.words)}" ({names})',
    ]
    if setting.circumstances:
        lines.append(f"around   {', '.join(book.circumstances[c].name for c in setting.circumstances)}")
    if setting.opinion:
        lines.append(f"pilot    thinks that it is this: {book.components[setting.opinion].name.lower()}")
    if setting.earlier:
        lines.append(f"earlier  done since: {book.actions[setting.earlier].name}. The squawk came again.")
    return [*lines, standing(play), *due(play)]


def due(play: Play) -> list[str]:
    """The checks that are due since a repair and not done yet, in a line."""
    owed = play.situation.owed if play.repairs else ()
    return [f"due      {', '.join(play.book.checks[name].name for name in owed)}"] if owed else []


def findings(play: Play, most: int = FOUND_SHOWN) -> list[str]:
    """What was found, the latest ``most`` first, and what was cleared."""
    told = every_finding(play)
    lines = [f"{'known   ' if not i else '        '} {line}" for i, line in enumerate(told[:most])]
    if len(told) > most:
        lines.append(
            f"{'        ' if most else 'known   '} {'and ' if most else ''}{len(told) - most} older: h shows all"
        )
    if play.cleared:
        lines.append(f"cleared  {', '.join(play.book.components[c].name for c in play.cleared)}")
    return lines


def every_finding(play: Play) -> list[str]:
    """All findings and repairs, the latest first."""
    return [found(play.book, t) for t in reversed(play.told) if t.stop is None and t.act.kind in ("check", "repair")]


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


def wanted_first(play: Play, act: Act, wanted: Sequence[Act]) -> list[str]:
    """What stands, and what a step wants put back and set up before it, in this order."""
    book = play.book
    name = book.checks[act.id].name if act.kind == "check" else book.actions[act.id].name
    words = {"restore": "put back", "set-up": "set up"}
    listed = [f"  {n} {words[one.kind]:<8} {book.conditions[one.id].name}" for n, one in enumerate(wanted, 1)]
    return [f"{name} wants first:", "", *listed, "", standing(play)]


def standing(play: Play) -> str:
    """How the aircraft stands, in a line."""
    names = ", ".join(play.book.conditions[c].name for c in play.book.conditions if c in play.state.standing)
    return f"stands   {names or 'as it came in, nothing set up'}"


def read_off(value: Value) -> str:
    """A measured value with the limit of the drill's invented manual."""
    return (
        f"Reads {value.value:g} {value.unit}. {value.limit_name} in this drill's manual: {value.limit:g} {value.unit}."
    )


def level_choices() -> list[Choice]:
    """The levels to choose from."""
    return [Choice(str(level), words, str(level)) for level, words in LEVELS.items()]


def summary(given: Debrief) -> list[str]:
    """What it was, and the score, in three lines."""
    score = given.score
    known = f", {score.shortest:.0f} with the cause known" if score.shortest is not None else ""
    given_up = ", then help" if score.ended == HELP else ""
    counts = {
        "unsafe": score.unsafe, "out of order": score.out_of_order, "cautions left out": score.missed,
        "good parts": score.wasted, "misread": score.misread, "follow-ups wrong": score.unplanned + score.needless,
    }  # fmt: skip
    wrong = ", ".join(f"{name} {count}" for name, count in counts.items() if count)
    return [
        f"{ENDS.get(score.ended, score.ended)} What was wrong: {'; '.join(given.hidden)}.",
        f"Minutes: you {score.worked:.0f}{given_up}; the advisor {score.best:.0f}{known}.",
        f"Wrong on the way: {wrong or 'nothing'}.",
    ]


def figures(given: Debrief) -> list[str]:
    """Every figure beside the advisor's, what made the drill hard, and the steps that would have been better."""
    score = given.score
    known = f", with the cause known {score.shortest:.0f}" if score.shortest is not None else ""
    given_up = f", then gave up (help: {score.minutes - score.worked:.0f})" if score.ended == HELP else ""
    listed = {
        "minutes by the book": f"you {score.worked:.0f}{given_up}, the advisor {score.best:.0f}{known}",
        **({"and it came back": f"{score.lost:.0f} minutes more"} if score.lost else {}),
        "risky set-ups": f"you {score.hazards}, the advisor {score.best_hazards}",
        "unsafe steps stopped": f"{score.unsafe}, and {score.out_of_order} out of order",
        "cautions not named": f"{score.missed}, and {score.claimed_wrong} named that did not apply",
        "repairs of what was good": f"{score.wasted}, causes named that were not there {score.wrong_cause}",
        "misread": str(score.misread),
        "follow-ups left out": f"{score.unplanned}, and {score.needless} named that are not due",
    }
    kind = plain(given.kind[:1].upper() + given.kind[1:]).rstrip(".") + "."
    return [kind, "", *(f"{words:<26}{figure}" for words, figure in listed.items())]


NOT_EXACT = (
    "Not the proven best: the likeliest steps played to the end by the program's own rule. The exact best can be "
    "worked out only for jobs far smaller than a squawk of a book."
)


def better_steps(given: Debrief) -> list[str]:
    """Where another step was the better one."""
    if not given.instead:
        return ["At no step would the refined advice have gone clearly another way."]
    lines = [
        f"Minute {one.at:.0f}: you did {plain(one.did)}; the refined advice {plain(one.better)}"
        + (f", some {one.minutes:.0f} minutes less to be expected." if one.minutes is not None else ".")
        for one in given.instead
    ]
    return ["Where most was lost the refined advice, on what was known then, would have gone another way:", *lines,
            NOT_EXACT]  # fmt: skip


def left_the_way(given: Debrief) -> list[str]:
    """The first step at which another would clearly have been the better one, in a line; none where all were well."""
    if not given.instead:
        return []
    one = given.instead[0]
    return [f"Left the good way at minute {one.at:.0f}: {plain(one.did)}; better: {plain(one.better)}."]


def timeline(given: Debrief, full: bool = False) -> Iterator[RenderableType]:
    """Both paths on one timeline, a step to a row: when, who, what, and what it showed; ``full``: what it settled, and
    why the advisor took it."""
    for at, who, lines in _rows(given, full):
        table = Table.grid(padding=(0, 1), expand=True)
        table.add_column(width=5, justify="right")
        table.add_column(width=len("advisor"))
        table.add_column(ratio=1)
        table.add_row(f"{at:.0f}", who, Text("\n".join(lines)))
        yield table


def spoken_timeline(given: Debrief, full: bool = False) -> Iterator[str]:
    """The same as sentences, one line a step."""
    for at, who, lines in _rows(given, full):
        yield f"Minute {at:.0f}, {who}: {'. '.join(lines)}."


MOVES = ("set-up", "restore")


def _rows(given: Debrief, full: bool) -> Iterator[tuple[float, str, list[str]]]:
    """Minute, who, and what is said of it. The short way what both have to ask first is left out, and set-ups that
    follow each other with nothing wrong in them are one row."""
    both = [*((line, "you") for line in given.learner), *((line, "advisor") for line in given.advisor)]
    both = [pair for pair in both if full or pair[0].kind != "opening" or pair[0].wrong]
    both.sort(key=lambda pair: pair[0].at)

    def together(pair: tuple[Line, str]) -> object:
        line, who = pair
        alike = not full and line.kind in MOVES and not (line.wrong or line.settled or line.why)
        return (who, line.kind) if alike else id(line)

    for _, pairs in groupby(both, key=together):
        (first, who), *more = pairs
        lines = _step_lines(first, full)
        for line, _ in more:
            lines[0] += f"; {_step_lines(line, full)[0].removeprefix('Set up: ')}"
        yield (more[-1][0] if more else first).at, who, lines


def _step_lines(line: Line, full: bool) -> list[str]:
    """One step, what it settled (the short way: what it showed), and what was wrong with it."""
    what = f"{plain(line.what)}{' (risky set-up)' if line.hazard else ''}"
    wrong = [f"! {one}" for one in line.wrong]
    if not full:
        showed = plain(line.settled).partition("; ")[0]
        return [f"{what}: {showed}" if showed else what, *wrong]
    lines = [what, *([f"why: {plain(line.why)}"] if line.why else [])]
    return [*lines, *([plain(line.settled)] if line.settled else []), *wrong]


def practise(given: Debrief, lessons: Sequence[str]) -> list[str]:
    """What to practise next."""
    lines = ["To practise next:", *(f"{number}. {line}" for number, line in enumerate(given.practise, 1))]
    return [*lines, *lessons]
