"""What is at hand: how many people, and which equipment is lacking."""

from __future__ import annotations

from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

VIEWS = ("people", "lacking")
MOST_PEOPLE = 9


def prompt(book: Book, state: CaseState, view: str) -> Prompt:
    """Asks for the people at hand, then for what is lacking."""
    if view == "people":
        now = "as many as needed" if state.people is None else str(state.people)
        lines = (f"So far: {now}.", "Type a number; a dash for as many as needed; Enter leaves it.")
        return Prompt("people", "How many people are at hand?", lines, text=True, default="")
    choices = tuple(
        Choice(str(i), name, item, "lacking" if item in state.lacking else "")
        for i, (item, name) in enumerate(book.equipment.items(), 1)
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
