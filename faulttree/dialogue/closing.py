"""The end of a case: what a finding speaks against is put back, the causes named, everything put back, closed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from faulttree.advice import Advisor
from faulttree.advice.barring import bars
from faulttree.advice.cautions import in_order
from faulttree.belief import Belief, Found
from faulttree.book.model import Book
from faulttree.case import CaseState, keeps_open
from faulttree.chances import in_words
from faulttree.dialogue import taking_back
from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply
from faulttree.dialogue.work import CAUSES_LISTED

WORTH_ASKING = 0.05
"""Chance to have been behind the squawk from which a fault that was repaired is asked about as another cause."""

STILL_THERE = 0.5
"""Chance of a fault after the proof from which it is told before the case is closed."""


def prompt(state: CaseState, advisor: Advisor, belief: Belief) -> Prompt:
    """After a passed proof: name the cause, put everything back, close."""
    book = advisor.book
    if state.cause is None and not state.cause_in_words:
        return _which_cause(book, state, belief)
    if state.cause is not None and not state.no_other_cause:
        others = _other_causes(book, state, belief)
        if others:
            return _which_other(book, others)
    move = advisor.moves.restore_all(state.standing)
    if move.off:
        condition = book.conditions[move.off[0]]
        return Prompt("restore", condition.put_back, (condition.restore,), (Choice("y", "done", "done"),),
                      about=condition.id, cautions=in_order(book, condition.cautions))  # fmt: skip
    return Prompt("close", "All is put back and proved. Close the case?",
                  (*_not_well(book, state), *_still_there(book, state, belief)),
                  (Choice("y", "close", "close"),), (taking_back.COMMAND,))  # fmt: skip


def _not_well(book: Book, state: CaseState) -> Iterator[str]:
    """Checks due after the repair that were done and showed something bad: the proof says nothing of that."""
    for name in state.follow_ups(book):
        check, shown = book.checks[name], state.shown.get(name)
        label = next((o.label for o in check.outcomes[:-1] if o.id == shown), None)
        if label is not None:
            yield f"Not well after the repair: {check.name}: {label}. Mend it first, or write it up as open."


def speaks_against(state: CaseState, advisor: Advisor) -> Prompt | None:
    """What stands though something found speaks against it is put back before anything else; None where nothing is."""
    book = advisor.book
    barred = [name for names, _ in bars(book, state.last_shown.items()) for name in names]
    # What was found last speaks for itself: no look that came before it has lifted it.
    barred += [
        name for check in state.done[-1:] for outcome in book.checks[check].outcomes
        if outcome.id == state.shown.get(check) for name in outcome.bars
    ]  # fmt: skip
    move = advisor.moves.without(state.standing, barred)
    if not move.off:
        return None
    condition = book.conditions[move.off[0]]
    lines = ("What was found speaks against it: it is put back before anything else.", condition.restore)
    return Prompt("restore", condition.put_back, lines, (Choice("y", "done", "done"),), (taking_back.COMMAND,),
                  about=condition.id, cautions=in_order(book, condition.cautions))  # fmt: skip


def _still_there(book: Book, state: CaseState, belief: Belief) -> tuple[str, ...]:
    """What the book takes to be there all the same, so that nobody closes over it unawares."""
    likely = {fault: found.probability for fault, found in belief.faults.items()}
    ranked = sorted(
        (fault for fault, p in likely.items() if p >= STILL_THERE), key=lambda fault: (-likely[fault], fault)
    )
    if not ranked:
        return ()
    told = "; ".join(f"{book.faults[fault].name} ({in_words(likely[fault])})" for fault in ranked)
    why = " It does not know what the repair in your words removed." if state.other_repairs else ""
    return (f"By all findings the book still takes this to be there: {told}.{why}",)


def _which_cause(book: Book, state: CaseState, belief: Belief) -> Prompt:
    """What was seen comes first, told in own words too, then what the repairs correct, else what was likely."""
    seen = list(dict.fromkeys(entry.fault for entry in state.evidence if isinstance(entry, Found)))
    corrected = {f for a in state.actions for f in book.actions[a].corrects}
    able = corrected or set(belief.as_it_was)
    ranked = sorted(((p, f) for f, p in belief.as_it_was.items() if f in able), reverse=True)
    listed = list(dict.fromkeys([*seen, *(f for _, f in ranked)]))[:CAUSES_LISTED]
    notes = {f: in_words(p) for p, f in ranked} | dict.fromkeys(seen, "seen")
    # What was seen and said so once needs no more than a yes.
    keys = ["y"] if len(seen) == 1 else []
    keys += [str(i) for i in range(1, CAUSES_LISTED + 1)]
    choices = [Choice(key, book.faults[f].name, f, notes[f]) for key, f in zip(keys, listed, strict=False)]
    words = [Choice("k", f"in my words: {text}", f"words {text}", "seen") for text in state.found_other[-1:]]
    choices[len(seen) : len(seen)] = words
    return Prompt("cause", "The squawk is gone. Which cause was it?", choices=tuple(choices),
                  commands=(Choice("f", "another, in words", "found"), taking_back.COMMAND))  # fmt: skip


def _other_causes(book: Book, state: CaseState, belief: Belief) -> list[str]:
    """What may have been behind the squawk beside the causes named: seen as well, or corrected by another repair.

    A repair corrects many faults; of those that nobody saw the likely ones alone are worth a question.
    """
    named = set(state.causes)
    seen = [entry.fault for entry in state.evidence if isinstance(entry, Found)]
    apart = [a for a in state.actions if named.isdisjoint(book.actions[a].corrects)]
    was = belief.as_it_was
    repaired = {f for a in apart for f in book.actions[a].corrects if was.get(f, 0.0) >= WORTH_ASKING}
    likely = sorted(repaired, key=lambda fault: (-was[fault], fault))
    return [f for f in dict.fromkeys([*seen, *likely]) if f not in named][: CAUSES_LISTED - 1]


def _which_other(book: Book, others: Sequence[str]) -> Prompt:
    """Two faults together give squawks that neither gives alone; a repair that did nothing is no cause."""
    choices = [Choice(str(i), book.faults[f].name, f) for i, f in enumerate(others, 1)]
    choices.append(Choice("n", "no, that was all", NO_OTHER))
    return Prompt("other-cause", "More than one thing was seen or repaired. Was another one behind the squawk too?",
                  choices=tuple(choices), commands=(taking_back.COMMAND,))  # fmt: skip


NO_OTHER = "no-other"


def needs_no_hand(book: Book, asked: Prompt) -> bool:
    """Whether what is to be put back is so by itself: nobody is asked to say that it was done."""
    return asked.topic == "restore" and book.conditions[asked.about].restore_minutes == 0


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """Answers on the way to the end; a case that must stay open is not closed, whatever was pressed."""
    if typed in ("found", taking_back.VIEW):
        return Reply(view=typed)
    if asked.topic == "cause" and typed.startswith("words "):
        return Reply((NewEntry("cause-in-words", {"text": typed.removeprefix("words ")}),))
    if typed == NO_OTHER:
        return Reply((NewEntry("no-other-cause"),))
    if asked.topic in ("cause", "other-cause"):
        return Reply((NewEntry("cause", {"fault": typed}),))
    if asked.topic == "restore":
        restored = NewEntry("restored", {"condition": asked.about})
        if needs_no_hand(book, asked):
            return Reply((restored,))  # nobody was shown anything
        return Reply((NewEntry("cautions", {"step": asked.about, "cautions": list(asked.cautions)}), restored))
    reasons = keeps_open(book, state)
    return Reply(say="Not closed: " + "; ".join(reasons) + ".") if reasons else Reply((NewEntry("closed"),))
