"""Taking a case up again: does the aircraft still stand as the log says, and do the answers still hold?"""

from __future__ import annotations

from faulttree.belief import Believer
from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.conditions import Moves
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

VIEWS = ("as-it-stands", "stands-now", "taken-up")
TOPICS = (*VIEWS, "confirm")

YES, NO = Choice("y", "yes", "yes"), Choice("n", "no", "no")
CAUSES = 3
DIGEST_SHOWN = 8
FLIES = "Nothing: no panel out, no jack, no breaker pulled."


def prompt(book: Book, state: CaseState, view: str) -> Prompt:
    """Asks, on taking a case up, how the aircraft stands."""
    if view == "taken-up":
        reason = (f"Left open: {state.left_open}",)
        return Prompt("taken-up", "Take this case up again?", reason, (YES, Choice("n", "no, leave it", "no")))
    if view == "as-it-stands":
        stands = [f"- {book.conditions[c].name}" for c in book.conditions if c in state.standing] or [FLIES]
        lines = (*_last(state), "By the log this stands:", *stands, "Go and look before you answer.")
        return Prompt("as-it-stands", "Does the aircraft still stand as the log says?", lines, (YES, NO))
    choices = tuple(
        Choice(str(i), book.conditions[c].name, c, "in the log" if c in state.standing else "")
        for i, c in enumerate(_offered(book, state), 1)
    )
    how = "Type the numbers of all that stands now, with spaces between; a dash for nothing."
    return Prompt("stands-now", "What stands now?", (how,), choices, text=True, default="")


def _last(state: CaseState) -> tuple[str, ...]:
    if not state.entries:
        return ()
    last = state.entries[-1]
    return (f"Last worked {(last.local or last.at)[:16].replace('T', ' ')} by {last.who or 'somebody not named'}.",)


def _offered(book: Book, state: CaseState) -> list[str]:
    return [c for c, condition in book.conditions.items() if condition.proposed or c in state.standing]


def confirm(book: Book, state: CaseState) -> Prompt:
    """Asks whether an answer still holds whose check has changed since it was given."""
    entry = next(e for e in state.entries if e.number == state.unconfirmed[0])
    check = book.checks[entry.data["check"]]
    labels = {outcome.id: outcome.label for outcome in check.outcomes}
    if entry.kind == "reading":
        answered = f"{entry.data['value']:g} {entry.data['unit']}"
    else:
        answered = labels.get(entry.data["outcome"], entry.data["outcome"])
    lines = [f"Answered {(entry.local or entry.at)[:16].replace('T', ' ')} by {entry.who}: {answered}"]
    lines += ["The check has changed since. Now it reads:", *(f"  {line}" for line in (check.ask, *check.how) if line)]
    lines.append("  Outcomes: " + "; ".join(labels.values()))
    if entry.kind == "answer" and entry.data["outcome"] not in labels:
        lines.append("What was answered is not among them any more, so it cannot count.")
        return Prompt(
            "confirm", check.name, tuple(lines), (Choice("n", "leave it out", "no"),), about=str(entry.number)
        )
    yes, no = Choice("y", "it still holds", "yes"), Choice("n", "leave it out; the check can be done again", "no")
    left = f"{len(state.unconfirmed)} to confirm." if len(state.unconfirmed) > 1 else "The last one."
    return Prompt("confirm", check.name, (*lines, left), (yes, no), about=str(entry.number))


def changed_lines(was: tuple[Book, CaseState] | None, now: tuple[Book, CaseState]) -> list[str]:
    """What a changed book makes of a case, in lines: versions, the ranking then and now, answers to confirm.

    ``was`` and ``now`` are a book with the state by it; None where the book of then is not known.
    """
    book, state = now
    lines = []
    if was is not None:
        if (was[0].version, was[0].digest) != (book.version, book.digest):
            then = f"Version {was[0].version} ({_short(was[0].digest)})"
            lines.append(f"{then}, is now {book.version} ({_short(book.digest)}).")
        lines += ["The ranking was:", *_top(*was), "It is now:"]
    else:
        lines += [f"Version {state.opened.get('version', '?')}, is now {book.version}.", "The ranking is now:"]
    lines += _top(book, state)
    if state.unconfirmed:
        count = len(state.unconfirmed)
        lines.append(f"{count} answer{'s count' if count > 1 else ' counts'} only once confirmed; that is asked next.")
    return lines


def _short(digest: str) -> str:
    return digest.removeprefix("sha256:")[:DIGEST_SHOWN]


def _top(book: Book, state: CaseState) -> list[str]:
    belief = Believer(book).believe(state.beliefs())
    ranked = sorted(belief.faults.items(), key=lambda item: (-item[1].probability, item[0]))[:CAUSES]
    lines = [f"  {b.probability * 100:3.0f} %  {book.faults[fault].name}" for fault, b in ranked]
    return [*lines, f"  {belief.unlisted * 100:3.0f} %  something this book does not list"]


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """What an answer to one of these leads to."""
    if asked.topic == "confirm":
        return Reply((NewEntry("confirmed", {"entry": int(asked.about), "counts": typed == "yes"}),))
    if asked.topic == "taken-up":
        return Reply((NewEntry("taken-up"),), view="as-it-stands") if typed == "yes" else Reply(view="leave")
    if asked.topic == "as-it-stands":
        return Reply((NewEntry("stands"),)) if typed == "yes" else Reply(view="stands-now")
    return _standing_now(book, asked, typed.strip())


def _standing_now(book: Book, asked: Prompt, typed: str) -> Reply:
    if not typed:
        return Reply(say="Type numbers, or a dash if nothing stands.", view="stands-now")
    by_key = {choice.key: choice.value for choice in asked.choices}
    words = [] if typed == "-" else typed.replace(",", " ").split()
    wrong = [word for word in words if word not in by_key]
    if wrong:
        return Reply(say=f"{' '.join(wrong)!r}: not among the numbers shown; nothing was taken.", view="stands-now")
    named = list(dict.fromkeys(by_key[word] for word in words))
    moves = Moves(book.conditions)
    pair = moves.conflict(moves.closure(named))
    if pair is not None:
        one, other = (book.conditions[c].name for c in pair)
        return Reply(say=f"These cannot stand together: {one}; {other}. Nothing was taken.", view="stands-now")
    return Reply((NewEntry("found-standing", {"standing": named}),))
