"""The same screens as sentences, one line each, for readers who hear the screen: nothing is told by place or shade."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from faulttree.book.model import Book
from faulttree.chances import in_words, minutes_in_words
from faulttree.clean import plain
from faulttree.conditions import put_back_words
from faulttree.dialogue import Board, Branch, Choice, Moved, Prompt
from faulttree.dialogue.where import Strip

from .board import KINDS, to_go_in_words

if TYPE_CHECKING:
    from faulttree.store import Card

STANDS = {
    "proved": "as good as ruled out",
    "open": "hardly suspect",
    "little": "a little suspect",
    "suspect": "suspect",
    "strong": "strongly suspect",
    "found": "found bad",
}
CAUSES, STRIPS, KNOWN = 5, 2, 3
LONG = 10
"""Choices from which a list is not said a second time."""

ALWAYS = (Choice("q", "quit", "quit"), Choice("?", "help", "help"))


@dataclass(frozen=True, slots=True)
class Heard:
    """What was said already and is not said again as long as it is the same: the strips, a long list."""

    where: tuple[str, ...] = ()
    listed: tuple[str, ...] = ()


NOTHING_HEARD = Heard()


def heard_after(asked: Prompt, before: Heard) -> Heard:
    """What was heard once ``asked`` was said too."""
    return Heard(before.where if asked.board is None else _where(asked.board), tuple(choices(asked.choices)))


def screen(book: Book, asked: Prompt, heard: Heard = NOTHING_HEARD) -> list[str]:
    """All that a prompt shows, in lines; without what was ``heard`` before."""
    lines: list[str] = []
    if asked.board is not None and asked.topic != "why":
        lines += _board(asked.board, heard)
    lines += [caution(book, each) for each in asked.cautions]
    if asked.under:
        lines.append(f"Cautions that were read and hold: {len(asked.under)}. ! says them again.")
    if asked.topic == "next" and asked.board is not None:
        lines += _next(book, asked.board)
    else:
        lines.append(plain(asked.title))
    lines += [plain(line).strip() for line in asked.lines]
    lines += [_moved(one) for one in asked.moved]
    for tree in asked.trees:
        lines += [f"{tree.name}, {tree.gate}:", *_below(tree, 1)]
    return [*lines, *_listed(asked, heard)]


def _listed(asked: Prompt, heard: Heard) -> list[str]:
    told = choices(asked.choices)
    again = asked.text and len(told) >= LONG and tuple(told) == heard.listed
    return [f"The {len(told)} numbers are those of before; a question mark says them again."] if again else told


def unfinished(cards: Sequence[Card]) -> list[str]:
    """The cases that are not closed, each with the way to go on with it."""
    told = "One case is not closed" if len(cards) == 1 else f"The latest {len(cards)} cases that are not closed"
    lines = [f"{plain(c.job or 'aircraft not named')}: {plain(c.squawk or 'squawk not written yet')}." for c in cards]
    ways = [f"Go on: faulttree work {card.name} --plain" for card in cards]
    return [f"{told}:", *(f"{line} {way}" for line, way in zip(lines, ways, strict=True))] if cards else []


def keys(commands: Sequence[Choice]) -> str:
    """The commands, a sentence each, so that a key and its meaning are heard together."""
    return "Keys. " + " ".join(f"{c.key}: {c.label}." for c in (*commands, *ALWAYS))


def caution(book: Book, name: str) -> str:
    """One caution on one line."""
    found = book.cautions[name]
    return f"{found.level}: {plain(found.text)}"


def choices(given: Sequence[Choice]) -> list[str]:
    """Choices, a line each, the key first."""
    told = [f"{c.key}: {plain(c.label)}{f', {plain(c.note)}' if c.note else ''}" for c in given]
    return [words if words.endswith(("?", ".")) else f"{words}." for words in told]


def _board(shown: Board, heard: Heard) -> Iterator[str]:
    yield f"Stands: {', '.join(shown.standing) or 'as it came in, nothing set up'}."
    yield f"To go: {to_go_in_words(shown)}."
    where = _where(shown)
    if where != heard.where:
        yield from where
    for one in shown.known[:KNOWN]:
        yield f"Known: {plain(one)}."
    for cause in shown.causes[:CAUSES]:
        yield f"Likely, {in_words(cause.probability)}: {cause.name}."
    yield f"Something this book does not list: {in_words(shown.unlisted)}."
    for warning in shown.warnings:
        yield f"Note: {warning}"


def _where(shown: Board) -> tuple[str, ...]:
    return tuple(_strip(strip) for strip in shown.where[:STRIPS])


def _strip(strip: Strip) -> str:
    told = [f"{s.tap} {STANDS[s.stands]}{', looked at next' if s.next else ''}" for s in strip.stretches]
    return f"Where, {strip.name}: {'; '.join(told)}."


def _next(book: Book, shown: Board) -> Iterator[str]:
    step = shown.suggestion
    if step is None:
        yield "Nothing more to suggest."
        return
    people = f", {step.people} people" if step.people > 1 else ""
    yield f"Next, {KINDS[step.kind]}: {step.name}. {minutes_in_words(step.minutes_now)}{people}."
    if step.equipment:
        yield "Wants: " + ", ".join(book.equipment[e] for e in step.equipment) + "."
    back = put_back_words(book.conditions, step.to_restore)
    if back:
        yield f"First: {back}."
    if step.to_set_up:
        yield "Set up: " + ", ".join(book.conditions[c].name for c in step.to_set_up) + "."
    if shown.waits:
        yield shown.waits


def _moved(one: Moved) -> str:
    return f"{one.name}: before {in_words(one.was)}, now {in_words(one.now)}."


def _below(tree: Branch, level: int) -> Iterator[str]:
    for branch in tree.below:
        gate = f", {branch.gate}:" if branch.gate else "."
        looked = ", looked at next" if branch.next else ""
        yield f"Level {level}, {STANDS[branch.stands]}{looked}: {branch.name}{gate}"
        yield from _below(branch, level + 1)
    if tree.quiet:
        yield f"Level {level}: {tree.quiet} more, hardly suspect."
