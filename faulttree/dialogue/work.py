"""The work itself: the board with the next step, views beside it, and the end of the case."""

from __future__ import annotations

from collections.abc import Mapping

from faulttree.advice import Advice, Advisor, Suggestion, Waiting
from faulttree.belief import Belief
from faulttree.book.model import Book
from faulttree.case import CaseState, keeps_open
from faulttree.chances import in_words, minutes_in_words
from faulttree.dialogue import jump, taking_back
from faulttree.dialogue.prompts import Board, CauseLine, Choice, NewEntry, Prompt, Reply
from faulttree.dialogue.where import strips

CAUSES_SHOWN = 5
CAUSES_LISTED = 9
OTHERS_SHOWN = 9
WAITING_SHOWN = 3

ACCEPT = Choice("y", "do this next", "accept")
WHY_TO_FOUND = (
    Choice("w", "why", "why"),
    Choice("o", "other steps", "others"),
    Choice("f", "I found it", "found"),
)
CANNOT_HERE = Choice("c", "can't do that here", "cannot-here")
COMMANDS = (
    Choice("v", "fault tree", "tree"),
    Choice("d", "what changed", "changed"),
    Choice("p", "at hand", "people"),
    Choice("u", "undo", "undo"),
    Choice("a", "note", "note"),
    Choice("h", "so far", "so-far"),
    Choice("x", "leave open", "leave-open"),
)
VIEWS_BESIDE = tuple(c.value for c in (*WHY_TO_FOUND, CANNOT_HERE, *COMMANDS) if c.value != "undo")


def board(
    state: CaseState,
    advisor: Advisor,
    belief: Belief,
    advice: Advice,
    currency: str = "",
    at_first: Mapping[str, float] | None = None,
) -> Board:
    """What the main screen shows. ``at_first`` are the probabilities by the symptoms alone; without them no strips."""
    book = advisor.book
    ranked = sorted(belief.faults.items(), key=lambda item: (-item[1].probability, item[0]))
    causes = tuple(
        CauseLine(book.faults[fault].name, b.probability, b.comes_and_goes) for fault, b in ranked[:CAUSES_LISTED]
    )
    warnings = []
    if belief.contradiction is not None:
        warnings.append("These answers cannot be true together; repeat one: " + _named(advisor, belief))
    elif belief.conflict_bits is not None and belief.conflict_bits > book.defaults.conflict_bits:
        warnings.append(f"The answers fit together badly (conflict {belief.conflict_bits:.1f} bits); repeat one.")
    standing = tuple(book.conditions[c].name for c in book.conditions if c in state.standing)
    suggestion = advice.suggestions[0] if advice.suggestions else None
    now = {fault: found.probability for fault, found in belief.faults.items()}
    step = suggestion.id if suggestion is not None else ""
    where = () if at_first is None else strips(book, advisor.gates, now, at_first, step)
    return Board(
        causes, belief.unlisted, standing, suggestion, advice.to_go, tuple(warnings), advice.fetch, advice.refined,
        currency, where, _known(book, state),
    )  # fmt: skip


def _known(book: Book, state: CaseState) -> tuple[str, ...]:
    """What was found in this case, the latest first."""
    told = []
    for name, outcome in reversed(state.last_shown.items()):
        check = book.checks[name]
        told.append(f"{check.name}: {next(o.label for o in check.outcomes if o.id == outcome)}")
    return tuple(told)


def _named(advisor: Advisor, belief: Belief) -> str:
    assert belief.contradiction is not None
    book = advisor.book
    names = []
    for entry in belief.contradiction.answers:
        if hasattr(entry, "check"):
            names.append(book.checks[entry.check].name)
        elif hasattr(entry, "symptom"):
            names.append(book.symptoms[entry.symptom].name)
        elif hasattr(entry, "fault"):
            names.append(book.faults[entry.fault].name)
    return "; ".join(names)


def prompt(book: Book, shown: Board) -> Prompt:
    """The main screen: causes, next step, commands. A question can be answered at once."""
    step = shown.suggestion
    if step is not None and step.kind == "ask" and not step.cautions and not step.to_set_up and not step.to_restore:
        check = book.checks[step.id]
        choices = tuple(Choice(str(i), o.label, o.id) for i, o in enumerate(check.outcomes, 1))
        extra = (Choice("n", "not asked", "not-done"), Choice("t", "can't tell", "cannot-tell"))
        return Prompt("question", check.ask or check.name, choices=choices,
                      commands=(*extra, *WHY_TO_FOUND, *COMMANDS), about=step.id, board=shown)  # fmt: skip
    choices = (ACCEPT,) if step is not None else ()
    commands = (*WHY_TO_FOUND, *([CANNOT_HERE] if step is not None and step.kind != "help" else []), *COMMANDS)
    return Prompt("next", step.name if step else "Nothing more to suggest", choices=choices, commands=commands,
                  about=step.id if step else "", board=shown)  # fmt: skip


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """What an answer on the main screen leads to."""
    if typed == "undo":
        return taking_back.last(book, state)
    if typed in VIEWS_BESIDE:
        return Reply(view=typed)
    if asked.topic == "question":
        started = NewEntry("started", {"kind": "ask", "id": asked.about})
        if typed in ("not-done", "cannot-tell"):
            return Reply((started, NewEntry("skipped", {"check": asked.about, "reason": typed})))
        return Reply((started, NewEntry("answer", {"check": asked.about, "outcome": typed, "sure": True})))
    assert asked.board is not None
    assert asked.board.suggestion is not None
    return start(asked.board.suggestion)


def start(suggestion: Suggestion) -> Reply:
    """Takes a step in hand; help ends the work here."""
    if suggestion.kind == "help":
        return Reply((NewEntry("left-open", {"reason": "handed to a specialist"}),))
    data = {"kind": suggestion.kind, "id": suggestion.id}
    if suggestion.also:
        return Reply((NewEntry("started", data | {"also": list(suggestion.also)}),))
    return Reply((NewEntry("started", data),))


def waits_for(book: Book, waiting: Waiting) -> str:
    """What a step waits for, in words."""
    return ", ".join(book.equipment[name] for name in waiting.lacking) or f"{waiting.people} people"


def others(book: Book, advice: Advice, first: int = 0) -> Prompt:
    """The other ways to go on from the ``first`` on, each with its minutes."""
    choices = []
    shown = advice.suggestions[first : first + OTHERS_SHOWN]
    for i, suggestion in enumerate(shown, 1):
        to_the_end = minutes_in_words(suggestion.expected_minutes)
        note = f"{minutes_in_words(suggestion.minutes_now)} now, {to_the_end} to the end"
        choices.append(Choice(str(i), suggestion.name, str(first + i - 1), note))
    lines = ["Best first."]
    for waiting in advice.waiting[:WAITING_SHOWN]:
        lines.append(f"Waits for {waits_for(book, waiting)}: {waiting.name}.")
    left = len(advice.suggestions) - first - len(shown)
    more = [Choice("m", f"{left} more", f"others {first + len(shown)}")] if left else []
    commands = (*more, Choice("t", "any check by name", jump.VIEW), Choice("r", "a repair not listed", "did-other"),
                Choice("b", "back", "back"))  # fmt: skip
    return Prompt("others", "Other steps", tuple(lines), tuple(choices), commands)


def found(board_shown: Board, state: CaseState, advisor: Advisor, belief: Belief) -> Prompt:
    """Asks which fault was found: one of the likely ones, or words for one the book does not know."""
    ranked = sorted(belief.faults.items(), key=lambda item: (-item[1].probability, item[0]))[:CAUSES_LISTED]
    choices = tuple(Choice(str(i), advisor.book.faults[f].name, f) for i, (f, _) in enumerate(ranked, 1))
    lines = ("Type its number, part of its name, or say in words what it is.", "Enter goes back.")
    return Prompt("found", "What did you find?", lines, choices, text=True, default="")


def accept_found(advisor: Advisor, asked: Prompt, typed: str) -> Reply:
    """A number or words to a found fault; words that name no fault are kept as they are."""
    typed = typed.strip()
    if not typed:
        return Reply(say="Nothing was taken.")
    by_key = {choice.key: choice.value for choice in asked.choices}
    if typed in by_key:
        return Reply((NewEntry("found", {"fault": by_key[typed]}),))
    named = [f for f in advisor.book.faults.values() if typed.lower() in (f.id, f.name.lower())]
    named = named or [f for f in advisor.book.faults.values() if typed.lower() in f.name.lower()]
    if len(named) == 1:
        return Reply((NewEntry("found", {"fault": named[0].id}),))
    if named:
        some = "; ".join(f.name for f in named[:CAUSES_SHOWN])
        return Reply(say=f"That fits {len(named)} causes ({some}). Nothing was taken; type more of its name.")
    return Reply((NewEntry("found-other", {"text": typed}),), say="Kept in your words; the book does not know it.")


def closing(state: CaseState, advisor: Advisor, belief: Belief) -> Prompt:
    """After a passed proof: name the cause, put everything back, close."""
    book = advisor.book
    if state.cause is None and not state.found_other:
        corrected = {f for a in state.actions for f in book.actions[a].corrects}
        ranked = sorted(((p, f) for f, p in belief.as_it_was.items() if f in corrected), reverse=True)[:CAUSES_LISTED]
        choices = tuple(Choice(str(i), book.faults[f].name, f, in_words(p)) for i, (p, f) in enumerate(ranked, 1))
        return Prompt("cause", "The squawk is gone. Which cause was it?", choices=choices,
                      commands=(Choice("f", "another, in words", "found"), Choice("u", "undo", "undo")))  # fmt: skip
    move = advisor.moves.restore_all(state.standing)
    if move.off:
        condition = book.conditions[move.off[0]]
        return Prompt("restore", f"Put back: {condition.name}", (condition.restore,), (Choice("y", "done", "done"),),
                      about=condition.id, cautions=tuple(condition.cautions))  # fmt: skip
    return Prompt("close", "All is put back and proved. Close the case?", choices=(Choice("y", "close", "close"),),
                  commands=(Choice("u", "undo", "undo"),))  # fmt: skip


def accept_closing(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """Answers on the way to the end; a case that must stay open is not closed, whatever was pressed."""
    if typed in ("undo", "found"):
        return accept(book, state, asked, typed)
    if asked.topic == "cause":
        return Reply((NewEntry("cause", {"fault": typed}),))
    if asked.topic == "restore":
        shown = NewEntry("cautions", {"step": asked.about, "cautions": list(asked.cautions)})
        return Reply((shown, NewEntry("restored", {"condition": asked.about})))
    reasons = keeps_open(book, state)
    return Reply(say="Not closed: " + "; ".join(reasons) + ".") if reasons else Reply((NewEntry("closed"),))
