"""A step in hand: its cautions first, then what is put back and set up for it, then the step itself.

The cautions of the step itself come before anything is touched; those of what is set up or put back for it come each
before the hands go there, a few at a time, where they are read and not leafed through.
"""

from __future__ import annotations

from dataclasses import replace

from faulttree.advice import Advisor
from faulttree.advice.cautions import in_order, of_action, of_check
from faulttree.book.model import Action, Book, Check
from faulttree.case import CaseState
from faulttree.chances import about
from faulttree.dialogue.hand import CANNOT, CANNOT_HERE
from faulttree.dialogue.measuring import limit_line
from faulttree.dialogue.prompts import NOTE, Choice, NewEntry, Prompt, Reply

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


def _own_cautions(advisor: Advisor, state: CaseState, item: Check | Action) -> tuple[str, ...]:
    """Cautions of the item, its parts and the symptoms reported, and of what stands for it already."""
    needed = advisor.moves.closure(_needs(advisor.book, state, item))
    stands = [condition for condition in advisor.book.conditions if condition in needed & state.standing]
    if isinstance(item, Check):
        return of_check(advisor.book, advisor.gates, item, stands, state.reported)
    return of_action(advisor.book, item, stands, state.reported)


def _needs(book: Book, state: CaseState, item: Check | Action) -> tuple[str, ...]:
    first = () if isinstance(item, Check) and item.kind == "ask" else state.first(book)
    also = state.step.also if state.step is not None else ()
    return (*item.needs, *first, *also)


def passed_over(book: Book, state: CaseState, item: Check | Action) -> str:
    """What should have come before a check and was not done, told at the check: once it is done it may be too late."""
    names = [book.checks[name].name for name in state.belongs_before(item)] if isinstance(item, Check) else []
    return f"Belongs before this step, and was not done: {'; '.join(names)}." if names else ""


def prompt(advisor: Advisor, state: CaseState) -> Prompt:
    """What to show or ask next of the step in hand."""
    item = item_of(advisor.book, state)
    asked, missed = _of_step(advisor, state, item), passed_over(advisor.book, state, item)
    return replace(asked, lines=(missed, *asked.lines)) if missed else asked


def _of_step(advisor: Advisor, state: CaseState, item: Check | Action) -> Prompt:
    assert state.step is not None
    if not state.step.acknowledged:
        own = _own_cautions(advisor, state, item)
        if own:
            return _to_read(f"Before: {item.name}", item.id, own, state, "Read these first.")
    asked = _asked(advisor, state, item)
    shown = cautions_of(advisor, state, item)
    holds = advisor.book.conditions[asked.about].cautions if asked.topic in ("set-up", "restore") else shown
    if not state.read.issuperset(holds):
        return _to_read(
            f"Before: {asked.title}", asked.about, in_order(advisor.book, holds), state, f"For: {item.name}."
        )
    return replace(asked, under=shown, commands=(*asked.commands, *([AGAIN] if shown else [])))


def _to_read(title: str, about: str, cautions: tuple[str, ...], state: CaseState, line: str) -> Prompt:
    """In full what was not read in this sitting; the rest, which holds again, by its first words."""
    new = tuple(caution for caution in cautions if caution not in state.read)
    again = tuple(caution for caution in cautions if caution in state.read)
    line = line if new else "All of these were read before, and hold again."
    asked = Prompt("cautions", title, (line,), (READ, DROP), (AGAIN,) if again else (), about=about)
    return replace(asked, cautions=new, under=again)


def _asked(advisor: Advisor, state: CaseState, item: Check | Action) -> Prompt:
    """What is asked of a step whose cautions were read."""
    book = advisor.book
    move = advisor.moves.move(state.standing, _needs(book, state, item))
    step = next(iter(advisor.moves.step_by_step(state.standing, move)), None)
    if step is not None and not step.sets_up:
        condition = book.conditions[step.condition]
        lines = (condition.restore, f"{_about(condition.restore_minutes)}. For: {item.name}.")
        return Prompt("restore", condition.put_back, lines, (DONE, DROP), (NOTE,), about=condition.id)
    if step is not None:
        condition = book.conditions[step.condition]
        people = f", {condition.people} people" if condition.people > 1 else ""
        lines = (condition.set_up, f"{_about(condition.set_up_minutes)}{people}. For: {item.name}.")
        return Prompt(
            "set-up", f"Set up: {condition.name}", lines, (DONE, DROP), (CANNOT_HERE, NOTE), about=condition.id
        )
    return outcome_prompt(book, state, item) if isinstance(item, Check) else _action_prompt(item)


def _about(minutes: float) -> str:
    told = about(minutes)
    return told[:1].upper() + told[1:]


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
    besides = (NOTE,) if check.kind == "ask" else (CANNOT_HERE, NOTE)
    commands = (*([MEASURE] if check.reading else []), *([UNSURE] if sure else []), NOT_DONE, CANNOT_TELL, *besides)
    title = check.ask if check.kind == "ask" and check.ask else check.name
    return Prompt("outcome" if sure else "unsure", title, lines, choices, commands if sure else (), about=check.id)


def _action_prompt(action: Action) -> Prompt:
    lines = [*action.how]
    if action.parts:
        lines.append("Parts: " + ", ".join(action.parts) + ".")
    if action.who:
        lines.append(f"By: {action.who}.")
    return Prompt("action", f"Repair: {action.name}", tuple(lines), (DONE, DROP), (CANNOT_HERE, NOTE), about=action.id)


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """What an answer to one of these prompts leads to."""
    if typed == "drop":
        assert state.step is not None
        return Reply((NewEntry("dropped", {"id": state.step.id}),), view="others", say="Dropped. Take another way:")
    if typed in ("cautions-again", CANNOT, NOTE.value):
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
