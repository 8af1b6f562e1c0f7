"""A step in hand: its cautions first, then what is put back and set up for it, then the step itself."""

from __future__ import annotations

from dataclasses import replace

from faulttree.advice import Advisor
from faulttree.advice.cautions import of_action, of_check
from faulttree.book.model import Action, Book, Check
from faulttree.case import CaseState
from faulttree.dialogue.measuring import limit_line
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

DONE = Choice("y", "done", "done")
READ = Choice("r", "read and understood", "done")
AGAIN = Choice("!", "cautions again", "cautions-again")
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
    item = item_of(advisor.book, state)
    shown = cautions_of(advisor, state, item)
    assert state.step is not None
    if shown and not state.step.acknowledged:
        # In full what was not read in this sitting; the rest, which holds again, by its first words.
        new = tuple(caution for caution in shown if caution not in state.read)
        again = tuple(caution for caution in shown if caution in state.read)
        line = "Read these first." if new else "All of these were read before, and hold again."
        commands = (AGAIN,) if again else ()
        asked = Prompt("cautions", f"Before: {item.name}", (line,), (READ, DROP), commands, about=item.id)
        return replace(asked, cautions=new, under=again)
    asked = _asked(advisor, state, item)
    return replace(asked, under=shown, commands=(*asked.commands, *([AGAIN] if shown else [])))


def _asked(advisor: Advisor, state: CaseState, item: Check | Action) -> Prompt:
    """What is asked of a step whose cautions were read."""
    book = advisor.book
    move = advisor.moves.move(state.standing, _needs(book, state, item))
    if move.off:
        condition = book.conditions[move.off[0]]
        lines = (condition.restore, f"About {condition.restore_minutes:g} min.")
        return Prompt("restore", f"Undo: {condition.name}", lines, (DONE, DROP), about=condition.id)
    if move.on:
        condition = book.conditions[move.on[0]]
        people = f", {condition.people} people" if condition.people > 1 else ""
        lines = (condition.set_up, f"About {condition.set_up_minutes:g} min{people}.")
        return Prompt("set-up", f"Set up: {condition.name}", lines, (DONE, DROP), about=condition.id)
    return outcome_prompt(book, state, item) if isinstance(item, Check) else _action_prompt(item)


def cautions_again(advisor: Advisor, state: CaseState) -> Prompt:
    """The cautions of the step in hand once more."""
    item = item_of(advisor.book, state)
    shown = cautions_of(advisor, state, item)
    return Prompt("cautions-again", f"For: {item.name}", (), (READ,), about=item.id, cautions=shown)


def outcome_prompt(book: Book, state: CaseState, check: Check, sure: bool = True) -> Prompt:
    """Asks what a check showed."""
    lines = (*check.how, *([f"Healthy: {check.healthy}"] if check.healthy else []))
    if check.reading is not None:
        lines = (*lines, limit_line(book, check, state))
    choices = tuple(Choice(str(i), o.label, o.id) for i, o in enumerate(check.outcomes, 1))
    commands = (*([MEASURE] if check.reading else []), *([UNSURE] if sure else []), NOT_DONE, CANNOT_TELL)
    title = check.ask if check.kind == "ask" and check.ask else check.name
    return Prompt("outcome" if sure else "unsure", title, lines, choices, commands if sure else (), about=check.id)


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
        return Reply((NewEntry("dropped", {"id": asked.about}),), view="others", say="Dropped. Take another way:")
    if typed == "cautions-again":
        return Reply(view=typed)
    if asked.topic == "cautions-again":
        return Reply()
    if asked.topic == "cautions":
        read = [*asked.cautions, *asked.under]
        return Reply((NewEntry("cautions", {"step": asked.about, "cautions": read}),))
    if asked.topic in ("set-up", "restore"):
        kind = "set-up" if asked.topic == "set-up" else "restored"
        return Reply((NewEntry(kind, {"condition": asked.about}),))
    if asked.topic == "action":
        return Reply((NewEntry("did", {"action": asked.about}),))
    if typed == "cannot-tell":
        return Reply((NewEntry("skipped", {"check": asked.about, "reason": typed}),))
    if typed in ("unsure", "measure", "not-done"):
        return Reply(view=typed)
    return Reply((NewEntry("answer", {"check": asked.about, "outcome": typed, "sure": asked.topic != "unsure"}),))
