"""The troubleshooting record of a case: what was asked, shown, answered and done, in order, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from faulttree.advice.cautions import in_order
from faulttree.belief import Believer
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up, keeps_open, standing_entries

CAUSES = 5


def history(book: Book, entries: Sequence[CaseEntry], short: bool = False) -> list[str]:
    """One line per entry, in plain words, undone ones marked; ``short`` leaves out date and name."""
    stands = {e.number for e in standing_entries(entries)}
    lines = []
    for entry in entries:
        words = _words(book, entry)
        if words:
            mark = "" if entry.number in stands or entry.kind == "undone" else " (undone later)"
            when = entry.at[11:16] if short else f"{entry.at} {entry.who}:"
            lines.append(f"{entry.number}. {when} {words}{mark}")
    return lines


def _words(book: Book, entry: CaseEntry) -> str:
    data = entry.data
    match entry.kind:
        case "opened":
            return f"case opened for {data['job'] or 'an aircraft not named'}, {data['family']} gear"
        case "squawk":
            return f'squawk: "{data["text"]}"'
        case "symptom":
            return f"{'reported' if data['present'] else 'denied'}: {book.symptoms[data['symptom']].name}"
        case "circumstance":
            names = ", ".join(book.circumstances[c].name for c in data["circumstances"])
            return f"circumstances: {names or 'none of those asked'}"
        case "hours":
            return f"{data['hours']:g} flight hours since the gear was last known good"
        case "opening":
            return _opening_words(book, data)
        case "started":
            return ""
        case "cautions":
            return (
                f"{len(data['cautions'])} cautions read before: {_step_name(book, data['step'])}"
                if data["cautions"]
                else ""
            )
        case _:
            return _work_words(book, entry)


def _step_name(book: Book, step: str) -> str:
    """The name of a check, an action or a condition that was put back."""
    items = (book.checks, book.actions, book.conditions)
    return next((of_kind[step].name for of_kind in items if step in of_kind), step)


def _opening_words(book: Book, data: Any) -> str:
    question = next(q for q in book.opening if q.id == data["question"])
    answer = next(a for a in question.answers if a.id == data["answer"])
    return f"{question.ask} {answer.label}"


def _work_words(book: Book, entry: CaseEntry) -> str:
    data = entry.data
    match entry.kind:
        case "at-hand":
            return _at_hand_words(book, data)
        case "set-up":
            return f"set up: {book.conditions[data['condition']].name}"
        case "restored":
            return f"put back: {book.conditions[data['condition']].name}"
        case "answer":
            check = book.checks[data["check"]]
            label = next(o.label for o in check.outcomes if o.id == data["outcome"])
            asked = check.ask if check.kind == "ask" and check.ask else f"{check.name}:"
            return f"{asked} {label}{'' if data['sure'] else ' (not sure)'}"
        case "reading":
            check = book.checks[data["check"]]
            return (
                f"{check.name}: {data['value']:g} {data['unit']}, limit {data['limit']:g} {data['unit']} "
                f"from {data['reference']}"
            )
        case "skipped":
            return f"{book.checks[data['check']].name}: {'not done' if data['reason'] == 'not-done' else 'cannot tell'}"
        case "found":
            return f"found: {book.faults[data['fault']].name}"
        case "found-other":
            return f'found, in words: "{data["text"]}"'
        case "did":
            return f"repair done: {book.actions[data['action']].name}"
        case "cause":
            return f"cause named: {book.faults[data['fault']].name}"
        case "undone":
            return f"entry {data['entry']} undone"
        case "dropped":
            return "step dropped"
        case "closed":
            return "case closed"
        case "left-open":
            return f"left open: {data['reason']}"
        case _:
            return str(data.get("text", ""))


def _at_hand_words(book: Book, data: Any) -> str:
    if "people" in data:
        return f"people at hand: {data['people'] or 'as many as needed'}"
    return "not at hand: " + (", ".join(book.equipment[name] for name in data["lacking"]) or "nothing")


def as_data(book: Book, name: str, entries: Sequence[CaseEntry]) -> dict[str, Any]:
    """The record as plain JSON-able data."""
    state = add_up(book, entries)
    belief = Believer(book).believe(state.beliefs())
    ranked = sorted(belief.as_it_was.items(), key=lambda item: (-item[1], item[0]))[:CAUSES]
    return {
        "case": name,
        "job": state.opened.get("job", ""),
        "family": book.family,
        "knowledge": {"version": state.opened.get("version"), "digest": state.opened.get("digest")},
        "fitted": dict(book.fitted),
        "squawk": state.squawk,
        "symptoms": state.reported,
        "denied": state.denied,
        "cause": state.cause,
        "found_in_words": state.found_other,
        "actions": state.actions,
        "outcome": _outcome(state),
        "open_because": [] if state.closed else keeps_open(book, state),
        "causes": [{"fault": f, "name": book.faults[f].name, "probability": p} for f, p in ranked],
        "unlisted": belief.unlisted,
        "entries": [
            {"number": e.number, "at": e.at, "who": e.who, "kind": e.kind, "data": dict(e.data)} for e in entries
        ],
    }


def _outcome(state: CaseState) -> str:
    if state.closed:
        return "closed: cause named, repair proved, everything put back"
    if state.left_open is not None:
        return f"left open: {state.left_open}"
    return "open"


def as_markdown(book: Book, name: str, entries: Sequence[CaseEntry]) -> str:
    """The record for people."""
    data = as_data(book, name, entries)
    state = add_up(book, entries)
    lines = [
        f"# Troubleshooting record {name}", "",
        f"Aircraft or job: {data['job'] or 'not stated'}. Gear: {book.name}.", "",
        f"Squawk, in the pilot's words: \"{state.squawk}\"", "",
        f"Reported: {', '.join(book.symptoms[s].name for s in state.reported) or 'nothing'}.", "",
        f"Outcome: {data['outcome']}.", "",
    ]  # fmt: skip
    if state.cause:
        lines.append(f"- Cause named by the mechanic: {book.faults[state.cause].name}.")
    lines += [f'- Cause in the mechanic\'s words: "{text}".' for text in state.found_other]
    lines += [f"- Repair: {book.actions[action].name}." for action in state.actions]
    if data["open_because"]:
        lines += ["", "## Open", "", *(f"- {reason}" for reason in data["open_because"])]
    lines += ["", "## Causes as the answers leave them", ""]
    lines += [f"- {cause['probability']:.0%} {cause['name']}" for cause in data["causes"]]
    lines += [f"- {data['unlisted']:.0%} something the book does not list", "", "## Course of the work", ""]
    lines += ["Times are UTC. Numbers left out only note that a step was begun or a list ended.", ""]
    lines += [*(line.replace(". ", "\\. ", 1) + "  " for line in history(book, entries)), ""]
    lines += _foot(book, entries, data)
    return "\n".join(lines) + "\n"


def _foot(book: Book, entries: Sequence[CaseEntry], data: dict[str, Any]) -> list[str]:
    shown = dict.fromkeys(c for e in entries if e.kind == "cautions" for c in e.data["cautions"])
    lines = ["## Cautions that were shown and read", ""]
    lines += ["Which of them came before which step is in the record's JSON form, by the names in brackets.", ""]
    known = in_order(book, [caution for caution in shown if caution in book.cautions])
    lines += [f"- {book.cautions[c].level} ({c}): {book.cautions[c].text}" for c in known]
    lines += ["", "---", "", f"Knowledge {data['knowledge']['version']}, {data['knowledge']['digest']}."]
    lines += [book.cautions[c].text for c in book.standing_cautions]
    lines += ["", "Name: ____________  Signature: ____________  Certificate: ____________  Date: ____________"]
    return lines
