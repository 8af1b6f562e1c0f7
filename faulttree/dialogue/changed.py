"""What the last answer changed: the ranking before it and after it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from faulttree.belief import Belief, Evidence
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, standing_entries
from faulttree.case.course import said
from faulttree.dialogue.prompts import Choice, Moved, Prompt

LEADING, MOVED_MOST = 4, 8
"""Causes shown: those that lead now, then those that moved most, so many in all."""

EVIDENCE = ("symptom", "answer", "reading", "found", "did")
WORTH_SAYING = 0.005
"""Change of a probability from which it is told."""

BACK = Choice("b", "back", "back")


def prompt(book: Book, believe: Callable[[Evidence], Belief], state: CaseState, now: Belief) -> Prompt:
    """The ranking before and after the latest piece of evidence, with what that was."""
    last = last_evidence(state.entries)
    if last is None or len(state.evidence) < 2:
        told = ("So far there is the squawk alone. Look again after the first answer.",)
        return Prompt("changed", "What the last answer changed", told, commands=(BACK,))
    told_then = replace(state.beliefs(), entries=tuple(state.evidence[:-1]))
    before = believe(told_then)
    moved = moves(book, before, now)
    return Prompt("changed", f"After: {said(book, last)}", _in_a_sentence(moved), commands=(BACK,), moved=moved)


def last_evidence(entries: Sequence[CaseEntry]) -> CaseEntry | None:
    """The entry behind the latest piece of evidence."""
    return next((entry for entry in reversed(standing_entries(entries)) if entry.kind in EVIDENCE), None)


def moves(book: Book, before: Belief, now: Belief) -> tuple[Moved, ...]:
    """Causes with their probabilities before and after, those that lead now first, the unlisted cause among them."""
    was = {fault: found.probability for fault, found in before.faults.items()}
    is_now = {fault: found.probability for fault, found in now.faults.items()}
    leading = sorted(is_now, key=lambda fault: (-is_now[fault], fault))[:LEADING]
    by_change = sorted(is_now, key=lambda fault: (-abs(is_now[fault] - was[fault]), fault))
    kept = list(dict.fromkeys([*leading, *by_change]))[:MOVED_MOST]
    found = [Moved(book.faults[fault].name, was[fault], is_now[fault]) for fault in kept]
    found.append(Moved("something this book does not list", before.unlisted, now.unlisted))
    return tuple(sorted(found, key=lambda one: -one.now))


def _in_a_sentence(moved: Sequence[Moved]) -> tuple[str, ...]:
    rose = max(moved, key=lambda one: one.now - one.was)
    fell = min(moved, key=lambda one: one.now - one.was)
    parts = []
    if rose.now - rose.was > WORTH_SAYING:
        parts.append(f"Likelier now, above all: {rose.name}.")
    if fell.was - fell.now > WORTH_SAYING:
        parts.append(f"Less likely now, above all: {fell.name}.")
    return tuple(parts) or ("It changed hardly anything.",)
