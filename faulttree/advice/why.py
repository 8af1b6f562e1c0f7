"""Why a step is suggested, in plain words."""

from __future__ import annotations

from faulttree.advice.situation import Situation, Suggestion
from faulttree.book.model import Book
from faulttree.chances import in_words, minutes_in_words
from faulttree.conditions import put_back_words

CAUSES_TOLD = 3


def explain(book: Book, suggestion: Suggestion, saves: float, situation: Situation, rival: Suggestion | None) -> str:
    """What a step settles, what it takes now, what stands already, and the minutes it ``saves`` against ``rival``.

    ``rival`` is the next best way, None if there is no other.
    """
    if suggestion.kind == "help":
        return "A specialist ends the job whatever the cause is; better only when no step here pays any more."
    parts = [_purpose(book, suggestion), _effort(book, suggestion, situation)]
    if suggestion.also:
        names = ", ".join(book.conditions[c].name for c in suggestion.also)
        parts.append(f"Not needed yet, but barred later: {names}.")
    if rival is not None and saves >= 1 and not suggestion.owed:
        saved = minutes_in_words(saves)
        parts.append(f"Saves about {saved} against the next best way: {rival.name}.")
    return " ".join(parts)


def _purpose(book: Book, suggestion: Suggestion) -> str:
    if suggestion.owed:
        return "Due after the repair."
    if suggestion.leads_to is not None:
        led = suggestion.leads_to
        if led in book.actions:
            return f"Shows whether it is so, before this is done: {book.actions[led].name}."
        return f"Has to come before: {book.checks[led].name}."
    if suggestion.kind == "act":
        return f"Cures it: {in_words(suggestion.chance or 0.0)}. The proof after it tells."
    after = dict.fromkeys(o.top_cause_after for o in suggestion.outcomes if o.top_cause_after is not None)
    names = [book.faults[fault].name for fault in after][:CAUSES_TOLD]
    if len(names) < 2:
        return "Makes the likeliest cause surer or less sure."
    return "Tells apart: " + "; ".join(names) + ("; and others." if len(after) > CAUSES_TOLD else ".")


def _effort(book: Book, suggestion: Suggestion, situation: Situation) -> str:
    effort = f"Takes {minutes_in_words(suggestion.minutes_now)}"
    back = put_back_words(book.conditions, suggestion.to_restore)
    if back:
        effort += ", before it: " + back
    if suggestion.to_set_up:
        effort += ", sets up: " + ", ".join(book.conditions[c].name for c in suggestion.to_set_up)
    stays = situation.standing - set(suggestion.to_restore)
    ready = [book.conditions[c].name for c in suggestion.needs if c in stays]
    if ready:
        effort += "; stands already: " + ", ".join(ready)
    return effort + "."
