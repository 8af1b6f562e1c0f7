"""The beginning of a case: squawk, symptoms, opening questions, circumstances, hours."""

from __future__ import annotations

from textwrap import shorten

from faulttree.advice.cautions import in_order
from faulttree.book.model import Book, OpeningAnswer, OpeningQuestion
from faulttree.case import CaseState, last_undoable
from faulttree.dialogue import taking_back
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply
from faulttree.squawk import match

FEWEST_LETTERS = 3
"""Fewer in a squawk are a key that was meant for something else."""

HEARD = 200
"""Of a long squawk so many signs are shown with a question; all of it is in the record."""

FIRST_OF_ALL = "first-of-all"
"""The topic of what an opening answer asks for."""

READ = Choice("r", "read and understood", "read")
YES_NO = (Choice("y", "yes", "yes"), Choice("n", "no, it was not so", "no"), Choice("t", "nobody can say", "untold"))


def prompt(book: Book, state: CaseState) -> Prompt | None:
    """The next thing asked before the work begins, or None when all of it is answered."""
    if not state.squawk:
        return Prompt(
            "squawk", "What did the pilot say?", ("In the pilot's own words, as written or told.",), text=True
        )
    if not state.symptoms_settled:
        return _symptoms(book, state)
    for question in book.opening:
        given = state.opening.get(question.id)
        answer = next((a for a in question.answers if a.id == given), None)
        if answer is not None and (answer.says or answer.cautions) and state.opening_read.get(question.id) != given:
            return _first_of_all(book, question, answer)
        if question.id not in state.opening:
            choices = tuple(Choice(str(i), a.label, a.id) for i, a in enumerate(question.answers, 1))
            return Prompt("opening", question.ask, choices=choices, commands=_back(state), about=question.id)
    if not state.circumstances_asked:
        choices = tuple(Choice(str(i), c.ask, c.id, short=c.name) for i, c in enumerate(book.circumstances.values(), 1))
        lines: tuple[str, ...] = (
            "Type the numbers of all that apply, with spaces between, or Enter for none. u takes an answer back.",
        )
        return Prompt("circumstances", "Which of these apply?", lines, choices, text=True, default="")
    if not state.hours_asked:
        usual = f"{book.defaults.hours:g}"
        lines = (
            "Flight hours since the gear was last known good.",
            f"Enter where nobody can say: {usual} are assumed then. u takes an answer back.",
        )
        return Prompt("hours", "How many flight hours?", lines, text=True, default="")
    return None


def _first_of_all(book: Book, question: OpeningQuestion, answer: OpeningAnswer) -> Prompt:
    """What an answer asks for before anything is touched, to be read before the next question."""
    first = ", ".join(book.conditions[name].name for name in answer.first)
    lines = (*((answer.says,) if answer.says else ()), *((f"Before any other work: {first}.",) if first else ()))
    return Prompt(FIRST_OF_ALL, f"{question.ask} {answer.label}", lines, (READ,), (taking_back.COMMAND,),
                  about=question.id, cautions=in_order(book, answer.cautions))  # fmt: skip


def _back(state: CaseState) -> tuple[Choice, ...]:
    return () if last_undoable(state.entries) is None else (taking_back.COMMAND,)


def _numbered(label: str, value: str, i: int) -> Choice:
    return Choice(str(i), label, value)


def _symptoms(book: Book, state: CaseState) -> Prompt:
    decided = {*state.reported, *state.denied, *state.untold}
    found = match(book, state.squawk)
    for proposal in (*found.symptoms, *found.unsure):
        if proposal.id not in decided:
            lines: tuple[str, ...] = (f'From the words "{shorten(proposal.heard, HEARD, placeholder=" ...")}".',)
            return Prompt(
                "symptom", f"{book.symptoms[proposal.id].name}?", lines, YES_NO, _back(state), about=proposal.id
            )
    # The numbers are those of the whole list: they stay as they are while symptoms are taken out of it.
    listed = [(i, s) for i, s in enumerate(book.symptoms, 1) if s not in {*state.reported, *state.denied}]
    choices = tuple(_numbered(book.symptoms[s].name, s, i) for i, s in listed)
    so_far = ", ".join(book.symptoms[s].name for s in state.reported) or "none yet"
    denied = "".join(f"; not: {book.symptoms[s].name}" for s in state.denied)
    lines = (
        f"So far: {so_far}{denied}.",
        "Type the numbers of those that were there too, with a minus before one that the pilot denies.",
        f"{'Enter goes on' if state.reported else 'One is needed to go on'}; u takes an answer back.",
    )
    return Prompt("more-symptoms", "Anything else?", lines, choices, text=True, default="")


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """What an answer to one of these prompts leads to."""
    typed = typed.strip()
    if asked.topic != "squawk" and typed in (taking_back.COMMAND.key, taking_back.VIEW):
        return Reply(view=taking_back.VIEW)
    if asked.topic == "squawk":
        if sum(sign.isalpha() for sign in typed) < FEWEST_LETTERS:
            return Reply(say="A few words are needed: what the gear did or did not do.")
        return Reply((NewEntry("squawk", {"text": typed}),))
    if asked.topic == "symptom" and typed == "untold":
        return Reply((NewEntry("symptom-untold", {"symptom": asked.about}),))
    if asked.topic == "symptom":
        return Reply((NewEntry("symptom", {"symptom": asked.about, "present": typed == "yes"}),))
    if asked.topic == "more-symptoms":
        return _more(state, asked, typed)
    if asked.topic == FIRST_OF_ALL:
        return Reply((NewEntry("cautions", {"step": asked.about, "cautions": list(asked.cautions)}),))
    if asked.topic == "opening":
        return Reply((NewEntry("opening", {"question": asked.about, "answer": typed}),))
    if asked.topic == "circumstances":
        return _circumstances(asked, typed)
    return _hours(book, typed)


def _more(state: CaseState, asked: Prompt, typed: str) -> Reply:
    if not typed:
        if state.reported:
            return Reply((NewEntry("symptoms-settled"),))
        return Reply(say="Name at least one symptom by its number.")
    by_key = {choice.key: choice.value for choice in asked.choices}
    words = typed.replace(",", " ").replace("- ", "-").split()
    wrong = [word for word in words if word.removeprefix("-") not in by_key]
    if wrong:
        return Reply(say=f"{' '.join(wrong)!r}: not among the numbers shown; nothing was taken.")
    told = {by_key[word.removeprefix("-")]: not word.startswith("-") for word in words}
    return Reply(tuple(NewEntry("symptom", {"symptom": name, "present": there}) for name, there in told.items()))


def _circumstances(asked: Prompt, typed: str) -> Reply:
    by_key = {choice.key: choice.value for choice in asked.choices}
    words = typed.replace(",", " ").split()
    wrong = [word for word in words if word not in by_key]
    if wrong:
        return Reply(say=f"{' '.join(wrong)!r}: not among the numbers shown; nothing was taken.")
    chosen = list(dict.fromkeys(by_key[word] for word in words))
    return Reply((NewEntry("circumstance", {"circumstances": chosen}),))


def _hours(book: Book, typed: str) -> Reply:
    if not typed.strip():
        return Reply((NewEntry("hours", {"hours": book.defaults.hours, "assumed": True}),))
    try:
        hours = float(typed.lower().removesuffix("hours").removesuffix("h").strip().replace(",", "."))
    except ValueError:
        return Reply(say=f"{typed!r} is not a number of hours, such as 25.")
    if not 0 < hours <= 20000:
        return Reply(say="Hours lie between 0 and 20000.")
    return Reply((NewEntry("hours", {"hours": hours}),))
