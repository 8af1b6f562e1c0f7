"""The log of a case in plain words, one line an entry."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from faulttree.book.model import Book
from faulttree.case.entries import CaseEntry, standing_entries

UNKNOWN = "entry of a kind that this version does not know"
SKIPPED = {
    "not-done": "not done", "cannot-tell": "could not be told", "does-not-apply": "does not apply to this aircraft",
}  # fmt: skip

Words = Callable[[Book, Mapping[str, Any]], str]


def calibration(until: str | None) -> str:
    """How long an instrument's calibration holds."""
    return f"calibrated until {until}" if until else "calibration not stated"


def history(book: Book, entries: Sequence[CaseEntry], short: bool = False) -> list[str]:
    """One line per entry that says something, undone ones marked; ``short`` leaves out date and name."""
    lines = []
    for line in course(book, entries):
        when = (
            clock(line["local"] or line["at"])[11:] if short else f"{clock(line['local'] or line['at'])} {line['who']}:"
        )
        lines.append(f"{line['number']}. {when} {line['words']}{' (undone later)' if line['undone'] else ''}")
    return lines


def course(book: Book, entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """The same as data: number, at, local, who, words, undone."""
    stands = {e.number for e in standing_entries(entries)}
    found = []
    for entry in entries:
        words = said(book, entry)
        if words:
            undone = entry.number not in stands and entry.kind not in ("undone", "confirmed")
            found.append(
                {
                    "number": entry.number, "at": entry.at, "local": entry.local, "who": entry.who, "words": words,
                    "undone": undone,
                }
            )  # fmt: skip
    return found


def clock(moment: str) -> str:
    """A moment to the minute, as 2026-03-01 10:15."""
    return moment[:16].replace("T", " ")


def said(book: Book, entry: CaseEntry) -> str:
    """An entry in words, empty where it says nothing to a reader. Never raises: old logs may name what is gone."""
    words = _WORDS.get(entry.kind)
    if words is None:
        return UNKNOWN
    try:
        return words(book, entry.data)
    except (KeyError, StopIteration, TypeError, ValueError):
        return f"{entry.kind}, of something that this knowledge does not have"


def shown_by(book: Book, data: Mapping[str, Any]) -> str:
    """What an answer or a reading showed, in the words of its check. Raises KeyError, StopIteration."""
    check = book.checks[data["check"]]
    if "outcome" in data:
        return next(o.label for o in check.outcomes if o.id == data["outcome"])
    weights = list(data["weights"])
    return check.outcomes[weights.index(max(weights))].label


def asked(book: Book, check: str) -> str:
    """A question as it is asked, any other check by its name."""
    found = book.checks[check]
    return found.ask if found.kind == "ask" and found.ask else found.name


def step_name(book: Book, step: str) -> str:
    """The name of a check, an action or a condition."""
    items = (book.checks, book.actions, book.conditions)
    return next((of_kind[step].name for of_kind in items if step in of_kind), step)


def number(value: Any) -> str:
    """A figure without needless digits."""
    return f"{value:.10g}" if isinstance(value, float | int) else str(value)


def reading_words(data: Mapping[str, Any]) -> str:
    """Value, limit, where the limit stands, instrument."""
    words = f"{number(data['value'])} {data['unit']}, limit {number(data['limit'])} {data['unit']}"
    words += f" from {data['reference']}"
    if data.get("instrument"):
        words += f", with {data['instrument']}"
        words += f" (calibrated until {data['calibrated']})" if data.get("calibrated") else ""
    return words


def _opened(book: Book, data: Mapping[str, Any]) -> str:
    return f"case opened for {data['job'] or 'an aircraft not named'}, {data['family']} gear"


def _symptom(book: Book, data: Mapping[str, Any]) -> str:
    return f"{'reported' if data['present'] else 'denied'}: {book.symptoms[data['symptom']].name}"


def _circumstance(book: Book, data: Mapping[str, Any]) -> str:
    names = ", ".join(book.circumstances[c].name for c in data["circumstances"])
    return f"circumstances: {names or 'none of those asked'}"


def _opening(book: Book, data: Mapping[str, Any]) -> str:
    question = next(q for q in book.opening if q.id == data["question"])
    return f"{question.ask} {next(a.label for a in question.answers if a.id == data['answer'])}"


def _at_hand(book: Book, data: Mapping[str, Any]) -> str:
    if "people" in data:
        return f"people at hand: {data['people'] or 'as many as needed'}"
    return "not at hand: " + (", ".join(book.equipment[name] for name in data["lacking"]) or "nothing")


def _cautions(book: Book, data: Mapping[str, Any]) -> str:
    count = len(data["cautions"])
    question = next((q for q in book.opening if q.id == data["step"]), None)
    if question is not None:
        return f"what comes before all else was read, by the answer to: {question.ask}"
    return f"{count} caution{'s' * (count > 1)} read before: {step_name(book, data['step'])}" if count else ""


def _answer(book: Book, data: Mapping[str, Any]) -> str:
    ask = asked(book, data["check"])
    sure = "" if data.get("sure", True) else " (not sure)"
    return f"{ask}{'' if ask.endswith('?') else ':'} {shown_by(book, data)}{sure}"


def _skipped(book: Book, data: Mapping[str, Any]) -> str:
    why = f", {data['why']}" if data.get("why") else ""
    return f"{book.checks[data['check']].name}: {SKIPPED.get(data['reason'], data['reason'])}{why}"


def _found_standing(book: Book, data: Mapping[str, Any]) -> str:
    names = ", ".join(book.conditions[c].name for c in data["standing"])
    return f"taken up again; the aircraft was found to stand otherwise: {names or 'nothing stands'}"


def _limit(book: Book, data: Mapping[str, Any]) -> str:
    name = book.limits[data["limit"]].name
    return f"limit: {name} {number(data['value'])} {data['unit']}, from {data['reference']}"


def _instrument(book: Book, data: Mapping[str, Any]) -> str:
    return f"measured with: {data['name']}, {calibration(data['calibrated'])}"


def _knowledge(book: Book, data: Mapping[str, Any]) -> str:
    count = len(data["unconfirmed"])
    told = f"; {count} answer{'s' * (count > 1)} to be confirmed" if count else ""
    profile = data.get("profile")
    if profile is None:
        return f"gone on with changed knowledge, version {data['version']}{told}"
    whose = f"the profile of {profile['aircraft']['name']}, version {profile['aircraft']['version']}"
    if "fitted" not in profile:
        return f"{whose}, was seen and not taken"
    return f"gone on by {whose}, knowledge version {data['version']}{told}"


def _confirmed(book: Book, data: Mapping[str, Any]) -> str:
    return f"entry {data['entry']} {'still holds' if data['counts'] else 'left out'} under the changed knowledge"


def _nothing(book: Book, data: Mapping[str, Any]) -> str:
    return ""


def _assumed(data: Mapping[str, Any]) -> str:
    return " (assumed, nobody could say)" if data.get("assumed") else ""


def _restored(book: Book, data: Mapping[str, Any]) -> str:
    condition = book.conditions[data["condition"]]
    if condition.restore_minutes == 0:
        return f"needs no putting back: {condition.name}"
    return f"put back: {condition.restore_name or condition.name}"


_WORDS: dict[str, Words] = {
    "opened": _opened,
    "squawk": lambda book, data: f'squawk: "{data["text"]}"',
    "symptom": _symptom,
    "symptom-untold": lambda book, data: f"nobody can say: {book.symptoms[data['symptom']].name}",
    "symptoms-settled": _nothing,
    "circumstance": _circumstance,
    "hours": lambda book, data: f"{data['hours']:g} flight hours since the gear was last known good{_assumed(data)}",
    "opening": _opening,
    "at-hand": _at_hand,
    "started": _nothing,
    "closing": _nothing,
    "cautions": _cautions,
    "dropped": lambda book, data: "step dropped",
    "set-up": lambda book, data: f"set up: {book.conditions[data['condition']].name}",
    "restored": _restored,
    "stands": lambda book, data: "taken up again; the aircraft stands as the log says",
    "found-standing": _found_standing,
    "limit": _limit,
    "instrument": _instrument,
    "answer": _answer,
    "reading": lambda book, data: f"{book.checks[data['check']].name}: {reading_words(data)}",
    "skipped": _skipped,
    "found": lambda book, data: f"found: {book.faults[data['fault']].name}",
    "found-other": lambda book, data: f'found, in words: "{data["text"]}"',
    "did": lambda book, data: f"repair done: {book.actions[data['action']].name}",
    "did-other": lambda book, data: f'repair done, in words: "{data["text"]}"',
    "cause": lambda book, data: f"cause named: {book.faults[data['fault']].name}",
    "cause-in-words": lambda book, data: f'cause named, in words: "{data["text"]}"',
    "no-other-cause": lambda book, data: "no other cause named",
    "undone": lambda book, data: f"entry {data['entry']} undone",
    "confirmed": _confirmed,
    "knowledge": _knowledge,
    "closed": lambda book, data: "case closed",
    "left-open": lambda book, data: f"left open: {data['reason']}",
    "taken-up": lambda book, data: "taken up again after it had been left open",
    "archived": lambda book, data: "put away" if data["archived"] else "taken out of the archive",
    "note": lambda book, data: f'note: "{data["text"]}"',
}
