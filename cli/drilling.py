"""A drill begun: what is asked for on the line or on the screen, the drill, the debrief."""

from __future__ import annotations

import argparse
import secrets
from collections.abc import Iterable, Sequence
from functools import partial
from pathlib import Path

from rich.console import RenderableType

from faulttree.book import families
from faulttree.book.drills import Lesson, Practice, Scenario, read_practice
from faulttree.book.model import Book
from faulttree.book.nearest import nearest
from faulttree.dialogue import Choice
from faulttree.drill import Bench, Play, Wanted
from faulttree.drill.advised import Advised
from faulttree.errors import FaulttreeError

from . import places, settings
from .driller import Driller, Left, show_debrief
from .plain_terminal import open_terminal
from .screens import drill as drawn
from .screens import prompt as screens
from .screens import spoken
from .terminal import Terminal

ANY = "any"
SEEDS = 1_000_000
SCENARIO_SEED = 1
"""What chance shows in a fixed drill, unless another seed is asked for."""


def run(given: argparse.Namespace, terminal: Terminal | None = None) -> int:
    """Drills until it ends or the learner leaves."""
    if terminal is None:
        terminal = open_terminal(getattr(given, "plain", False))
    shop = settings.read()
    overlays = [*shop.overlays, *given.knowledge]
    try:
        lesson = _lesson(given.lesson, overlays) if given.lesson else None
        if lesson is not None:
            _read_lesson(terminal, lesson)
        family = lesson.drill.family if lesson is not None else given.family or _family(terminal, overlays)
        practice = practice_of(family, overlays)
        name = lesson.drill.scenario if lesson is not None else given.scenario
        scenario = _scenario(practice, family, name) if name else None
        book = places.load(family, given.fitted if scenario is None else scenario.fitted, overlays)
        bench = Bench(book, practice, shop.figures_for(book))
        if scenario is not None:
            setting = bench.drawing.fixed(scenario, SCENARIO_SEED if given.seed is None else given.seed)
        elif lesson is not None:
            asked = lesson.drill
            setting = bench.drawing.draw(Wanted(asked.level, asked.seed, asked.symptom))
        else:
            setting = bench.drawing.draw(_wanted(terminal, bench, given))
        _drill(terminal, Play(bench, setting))
    except (Left, KeyboardInterrupt, EOFError):
        terminal.show("", "Left.")
    return 0


def practice_of(family: str, overlays: Sequence[str]) -> Practice:
    """What is written for practice of a family. Raises BadBook with every problem on a line of its own."""
    reading = read_practice([places.shipped_book(), *map(Path, overlays)], family)
    if reading.problems:
        raise places.BadBook("\n".join(str(problem) for problem in reading.problems))
    return reading.practice


def listing(given: argparse.Namespace) -> int:
    """Lists lessons, and the fixed drills of each family."""
    overlays = [*settings.read().overlays, *given.knowledge]
    known = families([places.shipped_book(), *map(Path, overlays)])
    practices = {family: practice_of(family, overlays) for family in ([given.family] if given.family else known)}
    lessons = {name: lesson for practice in practices.values() for name, lesson in practice.lessons.items()}
    print("Lessons (--lesson):")
    for name, lesson in lessons.items():
        print(f"  {name:<28} {lesson.name}")
    for family, practice in practices.items():
        if practice.scenarios:
            print(f"Fixed drills (--family {family} --scenario):")
        for name, scenario in practice.scenarios.items():
            print(f"  {name:<28} {scenario.name}, level {scenario.level}")
    return 0


def _lesson(name: str, overlays: Sequence[str]) -> Lesson:
    known = families([places.shipped_book(), *map(Path, overlays)])
    lessons = {k: v for family in known for k, v in practice_of(family, overlays).lessons.items()}
    if name not in lessons:
        raise FaulttreeError(_unknown("lesson", name, lessons))
    return lessons[name]


def _scenario(practice: Practice, family: str, name: str) -> Scenario:
    if name not in practice.scenarios:
        raise FaulttreeError(_unknown(f"fixed drill for {family}", name, practice.scenarios))
    return practice.scenarios[name]


def _unknown(noun: str, name: str, known: Iterable[str]) -> str:
    near = nearest(name, list(known))
    hint = f"the nearest is {near!r}" if near else "`faulttree drill --list` names them"
    return f"there is no {noun} {name!r}; {hint}"


def _read_lesson(terminal: Terminal, lesson: Lesson) -> None:
    parts = [lesson.name, lesson.rule, ""]
    parts += [part for text in lesson.text for part in (text, "")]
    parts += [f"In the drill: {lesson.watch}", "", "y begin the drill   q quit"]
    terminal.page(*parts)
    if terminal.key("> ", ["y", "q"], "y", redraw=partial(terminal.page, *parts)) == "q":
        raise Left


def _drill(terminal: Terminal, play: Play) -> None:
    _standing_cautions(terminal, play.book)
    try:
        Driller(play, terminal, lambda played: None).work()
    except Left:
        terminal.show("", f"Left. The same drill again: --family {play.book.family} --level {play.setting.level} "
                          f"--symptom {play.setting.symptoms[0]} --seed {play.setting.seed}")  # fmt: skip
        return
    show_debrief(terminal, play, Advised(play.bench))


def _standing_cautions(terminal: Terminal, book: Book) -> None:
    told = spoken.caution if terminal.plain else screens.caution_box
    parts = [*(told(book, caution) for caution in book.standing_cautions), "", "r read and understood   q quit"]
    terminal.page(*parts)
    if terminal.key("> ", ["r", "q"], redraw=partial(terminal.page, *parts)) == "q":
        raise Left


def _wanted(terminal: Terminal, bench: Bench, given: argparse.Namespace) -> Wanted:
    """What is asked for; what the line does not say is asked. Raises Left, FaulttreeError."""
    symptom = given.symptom
    if symptom is not None and symptom != ANY and symptom not in bench.book.symptoms:
        raise FaulttreeError(_unknown("symptom", symptom, bench.book.symptoms))
    level = given.level
    if level is None:
        level = int(_chosen(terminal, "How hard?", drawn.level_choices()))
    if symptom is None:
        symptom = _symptom(terminal, bench.book)
    seed = secrets.randbelow(SEEDS) if given.seed is None else given.seed
    return Wanted(level, seed, None if symptom == ANY else symptom)


def _family(terminal: Terminal, overlays: Sequence[str]) -> str:
    known = families([places.shipped_book(), *map(Path, overlays)])
    if len(known) == 1:
        return known[0]
    kinds = [Choice(str(i), places.load(f, [], overlays).name, f) for i, f in enumerate(known[:9], 1)]
    return _chosen(terminal, "What drives the gear?", kinds)


def _symptom(terminal: Terminal, book: Book) -> str:
    names = list(book.symptoms)
    listed = [f"{i:>3} {book.symptoms[name].name}" for i, name in enumerate(names, 1)]
    parts = ["Which squawk? Enter: surprise me. q: quit.", "", *listed]
    while True:
        terminal.page(*(parts if terminal.plain else _in_columns(terminal, parts)))
        typed = terminal.line("> ").strip()
        if typed == "q":
            raise Left
        if not typed:
            return ANY
        if typed.isdecimal() and 1 <= int(typed) <= len(names):
            return names[int(typed) - 1]


def _in_columns(terminal: Terminal, parts: Sequence[str]) -> list[str]:
    """A title, an empty line, then the rest in two columns, down the left one first."""
    title, gap, *rest = parts
    half, width = (len(rest) + 1) // 2, terminal.width // 2 - 1
    left, right = rest[:half], [*rest[half:], ""]
    return [title, gap, *(f"{a[:width]:<{width}} {b[:width]}" for a, b in zip(left, right, strict=False))]


def _chosen(terminal: Terminal, title: str, choices: Sequence[Choice]) -> str:
    parts: list[RenderableType] = [title, "", screens.choices(choices), "", "q quit"]
    if terminal.plain:
        parts = [title, *spoken.choices(choices), "q: quit."]
    terminal.page(*parts)
    pressed = terminal.key("> ", [*(c.key for c in choices), "q"], redraw=partial(terminal.page, *parts))
    if pressed == "q":
        raise Left
    return next(c.value for c in choices if c.key == pressed)
