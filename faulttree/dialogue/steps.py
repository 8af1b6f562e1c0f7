"""A step in hand: its cautions first, then what is put back and set up for it, then the step itself."""

from __future__ import annotations

import re

from faulttree.advice import Advisor
from faulttree.advice.cautions import of_action, of_check
from faulttree.belief import measured
from faulttree.book.model import Action, Book, Check
from faulttree.case import CaseState
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply
from faulttree.errors import BadAnswer
from faulttree.units import convert, parse_quantity

DONE = Choice("y", "done", "done")
DROP = Choice("x", "drop this step", "drop")
NOT_DONE = Choice("n", "not done", "not-done")
CANNOT_TELL = Choice("t", "can't tell", "cannot-tell")
UNSURE = Choice("s", "think so, not sure", "unsure")
MEASURE = Choice("m", "enter a reading", "measure")


def item_of(book: Book, state: CaseState) -> Check | Action:
    """The check or action in hand."""
    assert state.step is not None
    return book.actions[state.step.id] if state.step.kind == "act" else book.checks[state.step.id]


def cautions_of(advisor: Advisor, state: CaseState, item: Check | Action) -> tuple[str, ...]:
    """Cautions of the item, of all that must stand for it, and of all that is moved for it."""
    move = advisor.moves.move(state.standing, _needs(advisor.book, state, item))
    conditions = [*move.off, *move.on, *sorted(advisor.moves.closure(item.needs))]
    if isinstance(item, Check):
        return of_check(advisor.book, advisor.gates, item, conditions, state.reported)
    return of_action(advisor.book, item, conditions, state.reported)


def _needs(book: Book, state: CaseState, item: Check | Action) -> tuple[str, ...]:
    first = () if isinstance(item, Check) and item.kind == "ask" else state.first(book)
    also = state.step.also if state.step is not None else ()
    return (*item.needs, *first, *also)


def prompt(advisor: Advisor, state: CaseState) -> Prompt:
    """What to show or ask next of the step in hand."""
    book, item = advisor.book, item_of(advisor.book, state)
    shown = cautions_of(advisor, state, item)
    assert state.step is not None
    if shown and not state.step.acknowledged:
        return Prompt(
            "cautions", f"Before: {item.name}", ("Read these first.",),
            (Choice("y", "read and understood", "done"), DROP), about=item.id, cautions=shown,
        )  # fmt: skip
    move = advisor.moves.move(state.standing, _needs(book, state, item))
    if move.off:
        condition = book.conditions[move.off[0]]
        lines = (condition.restore, f"About {condition.restore_minutes:g} min.")
        return Prompt("restore", f"Put back: {condition.name}", lines, (DONE, DROP), about=condition.id)
    if move.on:
        condition = book.conditions[move.on[0]]
        people = f", {condition.people} people" if condition.people > 1 else ""
        lines = (condition.set_up, f"About {condition.set_up_minutes:g} min{people}.")
        return Prompt("set-up", f"Set up: {condition.name}", lines, (DONE, DROP), about=condition.id)
    return outcome_prompt(book, item) if isinstance(item, Check) else _action_prompt(item)


def outcome_prompt(book: Book, check: Check, sure: bool = True) -> Prompt:
    """Asks what a check showed."""
    lines = (*check.how, *([f"Healthy: {check.healthy}"] if check.healthy else []))
    if check.reading is not None:
        lines = (*lines, _limit_line(book, check))
    choices = tuple(Choice(str(i), o.label, o.id) for i, o in enumerate(check.outcomes, 1))
    commands = (*([MEASURE] if check.reading else []), *([UNSURE] if sure else []), NOT_DONE, CANNOT_TELL)
    title = check.ask if check.kind == "ask" and check.ask else check.name
    return Prompt("outcome" if sure else "unsure", title, lines, choices, commands if sure else (), about=check.id)


def _limit_line(book: Book, check: Check) -> str:
    assert check.reading is not None
    limit = book.limits[check.reading.limit]
    typical = f" Typical {limit.typical:g} {limit.unit}; confirm in the manual." if limit.typical is not None else ""
    return f"Limit: {limit.name}, from {limit.where}.{typical}"


def _action_prompt(action: Action) -> Prompt:
    lines = [*action.how]
    if action.parts:
        lines.append("Parts: " + ", ".join(action.parts) + ".")
    if action.who:
        lines.append(f"By: {action.who}.")
    return Prompt("action", f"Repair: {action.name}", tuple(lines), (DONE, DROP), about=action.id)


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """What an answer to one of these prompts leads to."""
    if typed == "drop":
        return Reply((NewEntry("dropped", {"id": asked.about}),))
    if asked.topic == "cautions":
        return Reply((NewEntry("cautions", {"step": asked.about, "cautions": list(asked.cautions)}),))
    if asked.topic in ("set-up", "restore"):
        kind = "set-up" if asked.topic == "set-up" else "restored"
        return Reply((NewEntry(kind, {"condition": asked.about}),))
    if asked.topic == "action":
        return Reply((NewEntry("did", {"action": asked.about}),))
    if typed in ("not-done", "cannot-tell"):
        return Reply((NewEntry("skipped", {"check": asked.about, "reason": typed}),))
    if typed in ("unsure", "measure"):
        return Reply(view=typed)
    return Reply((NewEntry("answer", {"check": asked.about, "outcome": typed, "sure": asked.topic != "unsure"}),))


def measure_prompt(book: Book, check: Check) -> Prompt:
    """Asks for a reading with the limit it is judged by."""
    assert check.reading is not None
    lines = (
        _limit_line(book, check),
        "Type the reading, the limit, and where the limit stands in the maker's manual, with semicolons between:",
        f"    READING {check.reading.unit}; LIMIT {check.reading.unit}; MANUAL SECTION AND REVISION",
    )
    return Prompt("measure", check.name, lines, text=True, about=check.id)


def accept_measure(book: Book, asked: Prompt, typed: str) -> Reply:
    """Turns a typed reading into an answer; says what is wrong with it otherwise."""
    check = book.checks[asked.about]
    assert check.reading is not None
    parts = [part.strip() for part in re.split(";", typed)]
    if len(parts) != 3 or not all(parts):
        return Reply(say="Three parts are needed: the reading; the limit; where the limit stands. Nothing was taken.")
    try:
        value = convert(parse_quantity(parts[0]), check.reading.unit).value
        limit = convert(parse_quantity(parts[1]), check.reading.unit).value
        answer = measured(book, check.id, value, limit)
    except BadAnswer as problem:
        return Reply(say=str(problem))
    data = {
        "check": check.id, "value": value, "unit": check.reading.unit, "limit": limit, "reference": parts[2],
        "weights": list(answer.weights), "typed": typed,
    }  # fmt: skip
    return Reply((NewEntry("reading", data),))
