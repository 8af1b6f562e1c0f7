"""A new entry of the knowledge on the screen: a question of the interview, the entry as YAML, what it would do."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence

from rich.console import RenderableType
from rich.text import Text

from faulttree.chances import in_words
from faulttree.clean import plain
from faulttree.dialogue.prompts import Choice
from faulttree.workshop.authoring.ground import Named
from faulttree.workshop.authoring.questions import Question
from faulttree.workshop.authoring.session import Asked
from faulttree.workshop.authoring.trial import Ranking, Touched, Trial
from faulttree.workshop.rules import case_moved

from . import spoken
from .problems import counted, line_for_editors
from .prompt import choices, plain_lines

WIDTH = 78

KEYS = "At once: ? help   < the question before   control-C leave, answers are kept"

HEARD = "Keys. ?: help. <: back. The end of the input leaves; answers are kept."


def question_screen(head: str, question: Question, offered: Sequence[Named], said: str) -> list[RenderableType]:
    """One question with what may be chosen, and below it what Enter takes."""
    parts: list[RenderableType] = [Text(plain(head), style="dim"), ""]
    parts += [Text(plain(said)), ""] if said else []
    parts += [Text(plain(question.title), style="bold"), *plain_lines(question.lines)]
    listed = [Choice(str(i), words, value) for i, (value, words) in enumerate(question.choices, 1)]
    listed += [Choice(str(i), _short(one), one.id) for i, one in enumerate(offered, 1)]
    parts += ["", choices(listed)] if listed else []
    how = "A key answers at once." if question.keys else "Type it, then Enter."
    return [*parts, "", Text(plain(f"{how} {_enter(question)}")), KEYS]


def _enter(question: Question) -> str:
    return f"Enter alone: {question.default_words}" if question.default is not None else "Enter alone takes nothing."


def change_keys(more: bool) -> list[str]:
    """What may be done where an answer is to be changed; whether there are ``more`` pages of them."""
    further = " Enter alone: the next ones." if more else ""
    return [
        f"Type numbers of answers to change, then Enter.{further}",
        "At once: ? help   < back, nothing is changed",
    ]


def question_lines(head: str, question: Question, offered: Sequence[Named], said: str) -> list[str]:
    """The same as sentences, for readers who hear the screen."""
    listed = [Choice(str(i), words, value) for i, (value, words) in enumerate(question.choices, 1)]
    listed += [Choice(str(i), f"{one.name}, {one.id}", one.id) for i, one in enumerate(offered, 1)]
    enter = f"Enter: {question.default_words}." if question.default is not None else "Enter alone takes nothing."
    return [
        *([said] if said else []),
        f"{head}.",
        question.title,
        *question.lines,
        *spoken.choices(listed),
        enter,
        HEARD,
    ]


def _short(one: Named) -> str:
    """Name and id on one line; of a long name what there is room for, of a long id all."""
    room = max(WIDTH - 7 - len(one.id), 20)
    return f"{textwrap.shorten(one.name, room, placeholder=' …')} ({one.id})"


def files(texts: Mapping[str, str]) -> list[str]:
    """The files as they would stand in the overlay, line by line."""
    lines = []
    for name, text in texts.items():
        lines += [f"--- {name}", *text.rstrip("\n").splitlines(), ""]
    return [part for line in lines[:-1] for part in _set_in(plain(line))]


def _set_in(line: str) -> list[str]:
    """A line of YAML that is too long goes on below, further in than it began."""
    if len(line) <= WIDTH:
        return [line]
    indent = " " * (len(line) - len(line.lstrip()) + 4)
    return textwrap.wrap(line, WIDTH, subsequent_indent=indent, break_on_hyphens=False, drop_whitespace=True)


def effect(trial: Trial) -> list[str]:
    """What it does to the ranking of each symptom, and what tells the new cause apart."""
    lines = ["What it does, with the usual options and nothing known but the squawk:", ""]
    for one in trial.touched:
        lines += [*_touched(one), ""]
    return [plain(line) for line in lines[:-1]]


def _touched(one: Touched) -> Iterator[str]:
    yield from _wrapped(f"{one.name} ({one.symptom})", "", "  ")
    yield from _wrapped(_ranking(one.before) if one.before else "not there", "  before  ", "          ")
    now = _ranking(one.after) if one.after != one.before else "the same"
    yield from _wrapped(now, "  after   ", "          ")
    if one.place > len(one.after):
        yield from _wrapped(
            f"{one.component} comes in place {one.place}, {in_words(one.share)}", "          ", "          "
        )
    for label, ranking in one.results:
        yield from _wrapped(f"{label}: {_ranking(ranking)}", "  if      ", "          ")
    if one.component:
        yield from _apart(one)


def _apart(one: Touched) -> Iterator[str]:
    if one.apart is None:
        told = "no check shows the new cause by a result of its own"
    else:
        found = one.apart
        told = f"by {found.check}: {found.shown}. That rules out {found.leaves_out} of the {found.others} other causes"
    yield from _wrapped(told, "  apart   ", "          ")
    if one.apart is not None and one.apart.alike:
        yield from _wrapped(f"no check tells it from {'; '.join(one.apart.alike)}", "          ", "          ")
    for number, (check, label) in enumerate(one.shows):
        yield from _wrapped(f"{check}: {label}", "          " if number else "  asked   ", "            ")
    if one.shows:
        yield from _wrapped(ASKED, "          ", "          ")
    for off in one.off:
        told = (
            f"As it stands the answer “{off.shown}” to “{off.check}” takes it off the list: {in_words(off.after)}, and "
            f"{in_words(off.before)} before it."
        )
        yield from _wrapped(told, "  but     ", "          ")
    if one.off:
        yield from _wrapped("If that is wrong, c changes what it shows there.", "          ", "          ")


ASKED = "That is what the advice comes to first, and what it expects to hear with the new cause alone."


def _ranking(ranking: Ranking) -> str:
    return ", ".join(f"{name} {in_words(share)}" for name, share in ranking) or "nothing"


def _wrapped(text: str, first: str, further: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=further, break_on_hyphens=False)


OTHERWISE = (
    "Cases of the book come out otherwise with it. Mostly the rate is too high beside those of the book, or the new "
    "check too good to be true: change the answer."
)
RIGHT = (
    " Where the shop is right, r takes these cases out of this overlay's book; you say why, and the reason stands "
    "beside it."
)
LATER = " Where the shop is right, they can be taken out once all else is mended."

NOT_OUT = (
    "The new case does not bring out what it expects. Find out who is wrong; more of what was found, or the cause seen "
    "with one's own eyes, brings it forward."
)


def problems(trial: Trial) -> list[str]:
    """What the checker says, each with its place; and what mostly helps."""
    lines: list[str] = []
    for problem in (*trial.problems, *trial.advice):
        # A path is left whole, to be copied.
        lines += textwrap.wrap(
            line_for_editors(problem), WIDTH, subsequent_indent="    ", break_on_hyphens=False, break_long_words=False
        )
    if any(problem.rule == case_moved.ID for problem in trial.problems):
        told = [OTHERWISE + (RIGHT if trial.only_moved else LATER)] if trial.moved else []
        told += [NOT_OUT] if len(trial.moved) < sum(p.rule == case_moved.ID for p in trial.problems) else []
        for words in told:
            lines += ["", *textwrap.wrap(words, WIDTH)]
    said = [
        counted(len(trial.problems), "error", "errors"),
        counted(len(trial.advice), "piece of advice", "pieces of advice"),
    ]
    worked = f"; {counted(trial.cases, 'case', 'cases')} worked" if trial.cases else ""
    return [*lines, *([""] if lines else []), f"The checker: {', '.join(said)}{worked}."]


def answered(asked: Sequence[Asked]) -> list[str]:
    """All answers so far, numbered, a line each."""
    return [plain(f"{i:>3} {_one_line(one)}") for i, one in enumerate(asked, 1)]


def _one_line(one: Asked) -> str:
    answer = textwrap.shorten(one.in_words, WIDTH // 2, placeholder=" …")
    return f"{textwrap.shorten(one.question.title, WIDTH - 6 - len(answer), placeholder=' …')} {answer}"
