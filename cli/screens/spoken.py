"""The same screens as sentences, one line each, for readers who hear the screen: nothing is told by place or shade."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from faulttree.book.model import Book
from faulttree.chances import in_words, minutes_in_words
from faulttree.clean import plain
from faulttree.conditions import put_back_words
from faulttree.dialogue import Board, Branch, Choice, Moved, Prompt

from .board import KINDS, to_go_in_words

STANDS = {
    "proved": "proved good",
    "open": "hardly suspect",
    "little": "a little suspect",
    "suspect": "suspect",
    "strong": "strongly suspect",
    "found": "found bad",
}
CAUSES, STRIPS, KNOWN = 5, 2, 3


def screen(book: Book, asked: Prompt) -> list[str]:
    """All that a prompt shows, in lines."""
    lines: list[str] = []
    if asked.board is not None and asked.topic != "why":
        lines += _board(asked.board)
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
    return [*lines, *choices(asked.choices)]


def keys(commands: Sequence[Choice]) -> str:
    """The commands in one sentence."""
    return "Keys: " + ", ".join(f"{c.key} {c.label}" for c in commands) + f"{', ' * bool(commands)}q quit, ? help."


def caution(book: Book, name: str) -> str:
    """One caution on one line."""
    found = book.cautions[name]
    return f"{found.level}: {plain(found.text)}"


def choices(given: Sequence[Choice]) -> list[str]:
    """Choices, a line each, the key first."""
    told = [f"{c.key}: {plain(c.label)}{f', {plain(c.note)}' if c.note else ''}" for c in given]
    return [words if words.endswith(("?", ".")) else f"{words}." for words in told]


def _board(shown: Board) -> Iterator[str]:
    yield f"Stands: {', '.join(shown.standing) or 'as it came in, nothing set up'}."
    yield f"To go: {to_go_in_words(shown)}."
    for strip in shown.where[:STRIPS]:
        told = [f"{s.tap} {STANDS[s.stands]}{', looked at next' if s.next else ''}" for s in strip.stretches]
        yield f"Where, {strip.name}: {'; '.join(told)}."
    for one in shown.known[:KNOWN]:
        yield f"Known: {plain(one)}."
    for cause in shown.causes[:CAUSES]:
        yield f"Likely, {in_words(cause.probability)}: {cause.name}."
    yield f"Something this book does not list: {in_words(shown.unlisted)}."
    for warning in shown.warnings:
        yield f"Note: {warning}"


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
