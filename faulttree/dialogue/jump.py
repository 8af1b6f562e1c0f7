"""Going to a check of one's own choice, by part of its name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from faulttree.advice import Advisor
from faulttree.belief import Belief
from faulttree.book.model import Book, Check
from faulttree.case import CaseState
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

VIEW = "jump"
LISTED = 9


def prompt(advisor: Advisor, belief: Belief, state: CaseState, wanted: str = "", offered: Sequence[str] = ()) -> Prompt:
    """Asks for a check, those that fit ``wanted`` listed; a number takes one of them, other words look again.

    ``offered`` are checks that are among the next steps: a proof is there once there is something to prove.
    """
    checks = fitting(advisor, belief, state, wanted, offered)
    choices = tuple(Choice(str(i), check.name, check.id) for i, check in enumerate(checks[:LISTED], 1))
    if not wanted:
        lines: tuple[str, ...] = ("Type part of its name, such as volts or brace. Enter goes back.",)
    elif not checks:
        lines = (
            f"No check that can be done here has {wanted!r} in its name. Type other words; Enter goes back.",
            *_behind_others(advisor.book, state, wanted),
        )
    else:
        more = f" {len(checks) - LISTED} more fit; type more of the name." if len(checks) > LISTED else ""
        lines = (f"Type its number, or other words. Enter goes back.{more}",)
    return Prompt(VIEW, "Which check?", lines, choices if wanted else (), text=True, default="", about=wanted)


def fitting(
    advisor: Advisor, belief: Belief, state: CaseState, wanted: str, offered: Sequence[str] = ()
) -> list[Check]:
    """The checks with all words of ``wanted`` in their name, that can be done as things stand."""
    able = {*advisor.can_be_done(belief, state.situation(advisor.book)), *offered}
    return [c for c in _named(advisor.book, wanted) if c.id in able]


def _named(book: Book, wanted: str) -> list[Check]:
    words = wanted.lower().split()
    return [c for c in book.checks.values() if all(word in c.name.lower() for word in words)]


def _behind_others(book: Book, state: CaseState, wanted: str) -> Iterator[str]:
    """What is named and waits for another check, with that one's name."""
    for check in _named(book, wanted)[:LISTED]:
        before = [book.checks[name].name for name in check.after if name not in state.ever_done]
        if before:
            yield f"{check.name}: first {', '.join(before)}."


def accept(book: Book, asked: Prompt, typed: str) -> Reply:
    """A number begins the check, words look for another."""
    typed = typed.strip()
    if not typed:
        return Reply()
    by_key = {choice.key: choice.value for choice in asked.choices}
    if typed in by_key:
        check = book.checks[by_key[typed]]
        return Reply((NewEntry("started", {"kind": "ask" if check.kind == "ask" else "check", "id": check.id}),))
    return Reply(view=f"{VIEW} {typed}")
