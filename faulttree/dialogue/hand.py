"""What is at hand: how many people, which equipment is lacking; and what cannot be done here for want of it."""

from __future__ import annotations

from faulttree.advice import Suggestion
from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

VIEWS = ("people", "lacking")
CANNOT = "cannot-here"
MOST_PEOPLE = 9

PEOPLE, NO_ACCESS, NOT_SAFE, WORDS = "people", "no access", "not safe as things stand", "words"
BACK = Choice("b", "back", "back")
CANNOT_HERE = Choice("c", "can't do that here", CANNOT)


def prompt(book: Book, state: CaseState, view: str) -> Prompt:
    """Asks for the people at hand, then for what is lacking."""
    if view == "people":
        now = "as many as needed" if state.people is None else str(state.people)
        lines = (f"So far: {now}.", "Type a number; a dash for as many as needed; Enter leaves it.")
        return Prompt("people", "How many people are at hand?", lines, text=True, default="")
    # Some things are shared by all families, and wanted for nothing on this gear.
    wanted = {
        e for section in (book.conditions, book.checks, book.actions) for i in section.values() for e in i.equipment
    }
    listed = [(item, name) for item, name in book.equipment.items() if item in wanted or item in state.lacking]
    choices = tuple(
        Choice(str(i), f"LACKING: {name}" if item in state.lacking else name, item)
        for i, (item, name) in enumerate(listed, 1)
    )
    how = "Type the numbers of all that is lacking, with spaces between; a dash for nothing; Enter leaves it."
    return Prompt("lacking", "Which of these is not at hand?", (how,), choices, text=True, default="")


def accept(asked: Prompt, typed: str) -> Reply:
    """What an answer to one of these leads to."""
    typed = typed.strip()
    if asked.topic == "people":
        if not typed:
            return Reply(view="lacking")
        if typed != "-" and not (typed.isdecimal() and 1 <= int(typed) <= MOST_PEOPLE):
            return Reply(say=f"{typed!r} is not a number of people from 1 to {MOST_PEOPLE}.", view="people")
        people = None if typed == "-" else int(typed)
        return Reply((NewEntry("at-hand", {"people": people}),), view="lacking")
    if not typed:
        return Reply()
    by_key = {choice.key: choice.value for choice in asked.choices}
    words = [] if typed == "-" else typed.replace(",", " ").split()
    wrong = [word for word in words if word not in by_key]
    if wrong:
        return Reply(say=f"{' '.join(wrong)!r}: not among the numbers shown; nothing was taken.", view="lacking")
    return Reply((NewEntry("at-hand", {"lacking": [by_key[word] for word in dict.fromkeys(words)]}),))


def cannot(book: Book, step: Suggestion) -> Prompt:
    """Asks why a step cannot be done here: for want of people or equipment, or for another reason."""
    reasons = [(f"only {step.people - 1} of the {step.people} people are here", PEOPLE)] if step.people > 1 else []
    reasons += [(f"not at hand: {book.equipment[name]}", f"equipment {name}") for name in step.equipment]
    if step.id in book.checks:
        reasons += [(words, words) for words in (NO_ACCESS, NOT_SAFE)]
        reasons.append(("in your own words", WORDS))
    choices = tuple(Choice(str(i), label, value) for i, (label, value) in enumerate(reasons[:9], 1))
    lines = (
        "Nothing else that wants the same is proposed until it is said to be here (p, at hand).",
        *(() if choices else ("It wants nobody and nothing that could be lacking: o shows other steps.",)),
    )
    return Prompt(CANNOT, f"Why can't it be done here? {step.name}", lines, choices, (BACK,), about=step.id)


def accept_cannot(state: CaseState, step: Suggestion, typed: str) -> Reply:
    """People or equipment are lacking from now on, and a step in hand is dropped; any other reason skips the check."""
    dropped = [] if state.step is None else [NewEntry("dropped", {"id": state.step.id})]
    if typed == PEOPLE:
        return Reply(
            (*dropped, NewEntry("at-hand", {"people": step.people - 1})),
            say=f"Steps that need {step.people} people are left out now.",
        )
    kind, _, name = typed.partition(" ")
    if kind == "equipment":
        lacking = [*sorted(state.lacking - {name}), name]
        return Reply((*dropped, NewEntry("at-hand", {"lacking": lacking})), say="Steps that want it are left out now.")
    if typed == WORDS:
        return Reply(view=f"{CANNOT}-words")
    return Reply((NewEntry("skipped", {"check": step.id, "reason": "not-done", "why": typed}),))
