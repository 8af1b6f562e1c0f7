"""A drill begun: what is asked for on the line or on the screen, the drill, the debrief."""

from __future__ import annotations

import argparse
import secrets
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any
from uuid import uuid4

from rich.console import RenderableType

from faulttree.book import families
from faulttree.book.drills import Lesson, Practice, Scenario, read_practice
from faulttree.book.model import Book
from faulttree.book.nearest import nearest
from faulttree.dialogue import Choice
from faulttree.drill import Bench, Play, Setting, Wanted, act_from
from faulttree.drill.advised import Advised
from faulttree.drill.progress import Done, pick_next, subsystem_of
from faulttree.errors import FaulttreeError
from faulttree.store import KeptDrill

from . import debriefing, places, settings
from .desk import Desk, user
from .driller import AT_ONCE, Driller, Left
from .plain_terminal import open_terminal
from .screens import drill as drawn
from .screens import prompt as screens
from .screens import spoken
from .terminal import Terminal

ANY, NEEDED, LESSONS = "any", "needed", "lessons"
SEEDS = 1_000_000
SCENARIO_SEED = 1
"""What chance shows in a fixed drill, unless another seed is asked for."""


def run(given: argparse.Namespace, terminal: Terminal | None = None) -> int:
    """Drills until it ends or the learner leaves."""
    if terminal is None:
        terminal = open_terminal(getattr(given, "plain", False))
    shop, desk = settings.read(), Desk()
    overlays = shop.overlays_and(given.knowledge)
    try:
        begun = _unfinished(terminal, desk, given, overlays) or _new(terminal, desk, given, overlays)
        bench = Bench(begun.book, begun.practice, shop.figures_for(begun.book))
        _drill(terminal, desk, bench, begun)
    except (Left, KeyboardInterrupt, EOFError):
        terminal.show("", "Left.")
    finally:
        desk.close()
    return 0


@dataclass(frozen=True, slots=True)
class Begun:
    """A drill at hand: the book, what is for practice, and the drill as it is kept."""

    book: Book
    practice: Practice
    kept: KeptDrill


def setting_of(bench: Bench, asked: Mapping[str, Any]) -> Setting:
    """The setting that a kept drill is drawn by."""
    if asked.get("scenario"):
        return bench.drawing.fixed(bench.practice.scenarios[asked["scenario"]], asked["seed"])
    return bench.drawing.draw(Wanted(asked["level"], asked["seed"], asked["symptom"]))


def _new(terminal: Terminal, desk: Desk, given: argparse.Namespace, overlays: Sequence[str]) -> Begun:
    """A drill as it is asked for, on the line or on the screen. Raises Left, FaulttreeError."""
    named = given.lesson or _lesson_wanted(terminal, given, overlays)
    lesson = _lesson(named, overlays) if named else None
    if lesson is not None:
        _read_lesson(terminal, lesson)
    family = lesson.drill.family if lesson is not None else given.family or _family(terminal, overlays)
    practice = practice_of(family, overlays)
    name = lesson.drill.scenario if lesson is not None else given.scenario
    scenario = _scenario(practice, family, name) if name else None
    fitted = list(given.fitted if scenario is None else scenario.fitted)
    book = places.load(family, fitted, overlays)
    if scenario is not None:
        seed = SCENARIO_SEED if given.seed is None else given.seed
        asked: dict[str, Any] = {"level": scenario.level, "seed": seed, "symptom": None, "scenario": scenario.id}
    else:
        bench = Bench(book, practice)
        wanted = Wanted(lesson.drill.level, lesson.drill.seed, lesson.drill.symptom) if lesson is not None else None
        wanted = wanted or _wanted(terminal, bench, given, desk)
        symptom = bench.drawing.draw(wanted).symptoms[0]
        asked = {"level": wanted.level, "seed": wanted.seed, "symptom": symptom, "scenario": ""}
    asked |= {"fitted": fitted, "digest": book.digest, "lesson": named}
    return Begun(book, practice, KeptDrill(uuid4().hex, user(), family, asked))


def _unfinished(terminal: Terminal, desk: Desk, given: argparse.Namespace, overlays: Sequence[str]) -> Begun | None:
    """The latest drill that this learner left, if it is wanted and the knowledge is still the same. Raises Left."""
    if _is_asked(given):
        return None
    begun = left_behind(desk, overlays)
    if begun is None or (given.family and begun.kept.family != given.family):
        return None
    choices = [Choice("y", f"go on with it: {told_of(begun)}", "on"), Choice("n", "begin another", "new")]
    if _chosen(terminal, "You left a drill.", choices) == "new":
        return None
    return begun


def left_behind(desk: Desk, overlays: Sequence[str]) -> Begun | None:
    """The latest drill that this learner left, where it can be gone on with: the knowledge is still the same."""
    left = [drill for drill in desk.drills.of(user()) if not drill.ended]
    if not left:
        return None
    kept = left[-1]
    book = places.load(kept.family, kept.asked["fitted"], overlays)
    practice = practice_of(kept.family, overlays)
    scenario = kept.asked.get("scenario")
    if book.digest != kept.asked["digest"] or (scenario and scenario not in practice.scenarios):
        return None
    return Begun(book, practice, kept)


def told_of(begun: Begun) -> str:
    """A drill left behind in a few words."""
    steps = "1 step" if len(begun.kept.acts) == 1 else f"{len(begun.kept.acts)} steps"
    return f"{begun.book.name}, level {begun.kept.asked['level']}, {steps} so far"


def as_done(kept: KeptDrill) -> Done:
    """A kept drill as progress counts it."""
    return Done(kept.who, kept.at, kept.family, int(kept.asked["level"]), kept.subsystem, kept.score)


def practice_of(family: str, overlays: Sequence[str]) -> Practice:
    """What is written for practice of a family. Raises BadBook with every problem on a line of its own."""
    reading = read_practice([places.shipped_book(), *map(Path, overlays)], family)
    if reading.problems:
        raise places.BadBook("\n".join(str(problem) for problem in reading.problems))
    return reading.practice


def listing(given: argparse.Namespace) -> int:
    """Lists lessons, and the fixed drills of each family."""
    overlays = settings.read().overlays_and(given.knowledge)
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


def _is_asked(given: argparse.Namespace) -> bool:
    """Whether the line says which drill or lesson it shall be."""
    return any((given.symptom, given.level is not None, given.seed is not None, given.scenario, given.lesson))


def _lesson_wanted(terminal: Terminal, given: argparse.Namespace, overlays: Sequence[str]) -> str:
    """The id of a lesson that is chosen from all; empty where a drill is wanted. Raises Left."""
    if _is_asked(given) or given.family:
        return ""
    choices = [Choice("l", "lessons: a short text each, and a drill of it", LESSONS), Choice("d", "a drill", "drill")]
    if _chosen(terminal, "What do you practise?", choices) != LESSONS:
        return ""
    lessons = list(_lessons(overlays).values())
    listed = [f"{i:>3} {lesson.name}" for i, lesson in enumerate(lessons, 1)]
    return lessons[_numbered(terminal, "Which lesson? Type its number, then Enter; q: quit.", listed, 1) - 1].id


def _numbered(terminal: Terminal, title: str, listed: Sequence[str], least: int) -> int:
    """The number that is typed of a list, ``least`` or more. Raises Left."""
    parts = [title, "", *listed]
    while True:
        terminal.page(*(parts if terminal.plain or terminal.fits(parts) else _in_columns(terminal, parts)))
        typed = terminal.line("> ", at_once=AT_ONCE).strip()
        if typed == "q":
            raise Left
        if typed.isdecimal() and least <= int(typed) <= len(listed):
            return int(typed)


def _lessons(overlays: Sequence[str]) -> dict[str, Lesson]:
    known = families([places.shipped_book(), *map(Path, overlays)])
    return {k: v for family in known for k, v in practice_of(family, overlays).lessons.items()}


def _lesson(name: str, overlays: Sequence[str]) -> Lesson:
    lessons = _lessons(overlays)
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


def _drill(terminal: Terminal, desk: Desk, bench: Bench, begun: Begun) -> None:
    """The drill and its debrief; kept before each screen, so that it goes on where a dead battery ended it."""
    _standing_cautions(terminal, begun.book)
    play = Play(bench, setting_of(bench, begun.kept.asked)).replay(map(act_from, begun.kept.acts))
    kept = begun.kept

    def keep(**more: Any) -> None:
        nonlocal kept
        kept = desk.drills.keep(replace(kept, acts=[act.as_data() for act in play.acts], **more))

    try:
        Driller(play, terminal, keep).work()
    except (Left, KeyboardInterrupt, EOFError):
        if play.acts:
            keep()
            terminal.show("", "Left. `faulttree drill` goes on with it.")
            return
        raise Left from None
    subsystem = subsystem_of(bench, play.setting)
    debriefing.show(
        terminal, play, Advised(bench), lambda given: keep(score=given.score.as_data(), subsystem=subsystem)
    )
    terminal.show("", "Kept. `faulttree drill --progress` tells how your drills went.")


def _standing_cautions(terminal: Terminal, book: Book) -> None:
    told = spoken.caution if terminal.plain else screens.caution_box
    parts = [*(told(book, caution) for caution in book.standing_cautions), "", "r read and understood   q quit"]
    terminal.page(*parts)
    if terminal.key("> ", ["r", "q"], redraw=partial(terminal.page, *parts)) == "q":
        raise Left


def _wanted(terminal: Terminal, bench: Bench, given: argparse.Namespace, desk: Desk) -> Wanted:
    """What is asked for; what the line does not say is asked. Raises Left, FaulttreeError."""
    symptom = given.symptom
    if symptom is not None and symptom != ANY and symptom not in bench.book.symptoms:
        near = nearest(symptom, list(bench.book.symptoms))
        hint = f"the nearest is {near!r}" if near else "`faulttree knowledge list` names them"
        raise FaulttreeError(f"there is no symptom {symptom!r}; {hint}")
    seed = secrets.randbelow(SEEDS) if given.seed is None else given.seed
    level = given.level
    if level is None:
        needed = [] if symptom is not None else [Choice("n", "what you need most, by your drills so far", NEEDED)]
        chosen = _chosen(terminal, "How hard?", [*needed, *drawn.level_choices()])
        if chosen == NEEDED:
            done = [as_done(kept) for kept in desk.drills.of(user()) if kept.ended]
            return pick_next(bench, done, seed)
        level = int(chosen)
    if symptom is None:
        symptom = _symptom(terminal, bench.book)
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
    title = "Which squawk? Type its number, then Enter; 0: surprise me; q: quit."
    number = _numbered(terminal, title, listed, 0)
    return names[number - 1] if number else ANY


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
