"""The troubleshooting record of a case: what was asked, shown, answered and done, in order, and what came of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from faulttree.advice import standing_for
from faulttree.advice.cautions import in_order
from faulttree.book.files import laid_over
from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, keeps_open, opening_of, standing_entries
from faulttree.case.course import SKIPPED, asked, course, reading_words, shown_by, step_name
from faulttree.conditions import Moves
from faulttree.papers.moves import moves, replayed, ruled_out

FORMAT = 1
RANKED = 8

NOT_KNOWN = (
    "What a repair in the mechanic's words removed is not known to the book, and so it is not known which of these"
    " causes still stand."
)
FOUND_IN_WORDS = (
    "Found, in the mechanic's words: {}. The book does not know it: the chances that it gives its own causes are those"
    " by the answers alone."
)


def head(kind: str, book: Book, name: str, entries: Sequence[CaseEntry], state: CaseState) -> dict[str, Any]:
    """What every paper begins with. Raises BadCase for a log without a beginning."""
    opened, last = opening_of(name, entries), entries[-1]
    return {
        "paper": kind,
        "format": FORMAT,
        "case": name,
        "job": str(opened.get("job", "")),
        "made_of": {
            "entries": last.number, "digest": f"sha256:{last.digest}", "last_local": last.local or last.at,
            "last_at": last.at,
        },
        "gear": _gear(book, opened),
        "knowledge": {
            "version": opened.get("version", ""), "digest": opened.get("digest", ""),
            "overlays": _overlays(opened),
            "changed": _changed(entries),
        },
        "squawk": state.squawk,
        "opened": {"at": entries[0].at, "local": entries[0].local or entries[0].at, "who": entries[0].who},
        "state": outcome(state),
        "standing_cautions": [
            {"level": book.cautions[c].level, "text": book.cautions[c].text} for c in book.standing_cautions
        ],
    }  # fmt: skip


def _changed(entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """Where a case was gone on with other knowledge; a profile alone leaves the knowledge as it was."""
    found, digest = [], entries[0].data.get("digest", "")
    for entry in entries:
        if entry.kind == "knowledge" and entry.data["digest"] != digest:
            digest = entry.data["digest"]
            found.append({
                "entry": entry.number, "version": entry.data["version"], "digest": digest,
                "overlays": _overlays(entry.data),
            })  # fmt: skip
    return found


def _overlays(data: Mapping[str, Any]) -> list[dict[str, str]]:
    return laid_over(data.get("overlays", ()), data.get("overlay_digests", ()))


def outcome(state: CaseState) -> dict[str, str]:
    """How the case stands, in a word, and why it was left open."""
    if state.closed:
        return {"word": "closed", "reason": ""}
    if state.left_open is not None:
        return {"word": "left open", "reason": state.left_open}
    return {"word": "open", "reason": ""}


def _gear(book: Book, opened: Mapping[str, Any]) -> dict[str, Any]:
    assumed = set(opened.get("assumed", book.assumed))
    names = {option.id: option.name for option in book.options.values()}
    return {
        "family": book.family,
        "name": book.name,
        "fitted": [
            {
                "group": group, "option": option, "name": f"{group.replace('-', ' ')}: {names.get(option, option)}",
                "assumed": f"{group}={option}" in assumed,
            }
            for group, option in book.fitted.items()
        ],
        "voltage": str(opened.get("voltage", "")),
        "profile": opened.get("aircraft"),
    }  # fmt: skip


def record(book: Book, name: str, entries: Sequence[CaseEntry]) -> dict[str, Any]:
    """The record as plain data; its shape stands in DEVELOPERS.md. Raises BadCase."""
    played = replayed(book, entries)
    state, belief = played.state, played.last
    ranked = sorted(belief.as_it_was.items(), key=lambda item: (-item[1], item[0]))[:RANKED] if state.reported else []
    unknown = not_known(book, state)
    return {
        **head("record", book, name, entries, state),
        "symptoms": [{"id": s, "name": book.symptoms[s].name} for s in state.reported],
        "denied": [{"id": s, "name": book.symptoms[s].name} for s in state.denied],
        "circumstances": [{"id": c, "name": book.circumstances[c].name} for c in state.circumstances],
        "hours": state.hours, "hours_assumed": state.hours_assumed,
        "opening": opening_answers(book, state),
        "findings": findings(book, entries),
        "moves": moves(book, played),
        "ranking": [
            {
                "fault": f, "name": book.faults[f].name, "probability": p,
                "now": None if unknown else belief.faults[f].probability,
            }
            for f, p in ranked
        ],
        "not_known": unknown,
        "unlisted": belief.unlisted,
        "left_out": belief.left_out,
        "ruled_out": ruled_out(book, played),
        "cause": {
            "fault": state.cause, "name": book.faults[state.cause].name if state.cause else "",
            "also": [{"fault": fault, "name": book.faults[fault].name} for fault in state.causes[1:]],
            "in_words": cause_in_words(state),
        },
        "actions": repairs(book, entries),
        "proof": proofs(book, state, entries),
        "open_items": open_items(book, state),
        "standing": [
            {"id": c, "name": book.conditions[c].name, "restore": book.conditions[c].restore, "since": since}
            for c, since in standing_since(book, entries).items()
        ],
        "skipped": skipped(book, entries),
        "notes": notes(entries),
        "cautions": _cautions(book, entries),
        "course": course(book, entries),
        "entries": [
            {
                "number": e.number, "at": e.at, "local": e.local, "who": e.who, "kind": e.kind, "data": dict(e.data),
                "digest": e.digest,
            }
            for e in entries
        ],
    }  # fmt: skip


def not_known(book: Book, state: CaseState) -> str:
    """What the book cannot know: a cause in the mechanic's own words, what still stands after a repair in them."""
    said = [FOUND_IN_WORDS.format("; ".join(words))] if (words := cause_in_words(state)) else []
    said += [NOT_KNOWN] if state.other_repairs and state.proved(book) else []
    return " ".join(said)


def cause_in_words(state: CaseState) -> list[str]:
    """What the mechanic named as the cause; where none was named, what was found in words."""
    if state.cause_in_words:
        return [state.cause_in_words]
    return [] if state.cause is not None else list(state.found_other)


def open_items(book: Book, state: CaseState) -> list[str]:
    """What keeps the case open, empty where it is closed."""
    return [] if state.closed else [reason[:1].upper() + reason[1:] for reason in keeps_open(book, state)]


def _moment(entry: CaseEntry) -> dict[str, Any]:
    return {"entry": entry.number, "at": entry.at, "local": entry.local or entry.at, "who": entry.who}


def opening_answers(book: Book, state: CaseState) -> list[dict[str, str]]:
    """What was answered before anything was touched."""
    return [
        {"ask": question.ask, "answer": answer.label}
        for question in book.opening
        for answer in question.answers
        if state.opening.get(question.id) == answer.id
    ]


def findings(book: Book, entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """Everything that was found, in order; what was taken back or not confirmed does not count."""
    stands = {e.number for e in standing_entries(entries)}
    return [
        {**_moment(entry), **found, "counts": entry.number in stands}
        for entry in entries
        if (found := _finding(book, entry)) is not None
    ]


def _finding(book: Book, entry: CaseEntry) -> dict[str, Any] | None:
    data = entry.data
    plain = {"sure": True, "about_squawk": False, "reading": None}
    if entry.kind == "found":
        return {"kind": "found", "name": book.faults[data["fault"]].name, "shown": "seen", **plain}
    if entry.kind == "found-other":
        return {"kind": "words", "name": str(data["text"]), "shown": "seen", **plain}
    if entry.kind not in ("answer", "reading") or data["check"] not in book.checks:
        return None
    check = book.checks[data["check"]]
    try:
        shown = shown_by(book, data)
    except StopIteration:
        shown = str(data.get("outcome", ""))
    reading = None
    if entry.kind == "reading":
        reading = {key: data[key] for key in ("value", "unit", "limit", "reference")}
        reading |= {key: str(data.get(key, "")) for key in ("instrument", "calibrated")}
    return {
        "kind": check.kind, "name": asked(book, check.id), "shown": shown, "sure": bool(data.get("sure", True)),
        "about_squawk": check.about == "squawk", "reading": reading,
    }  # fmt: skip


def repairs(book: Book, entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """The repairs that stand, those in words too."""
    found = []
    for entry in standing_entries(entries):
        if entry.kind == "did":
            action = book.actions[entry.data["action"]]
            done = {"action": action.id, "name": action.name, "parts": list(action.parts)}
            found.append({**_moment(entry), **done})
        elif entry.kind == "did-other":
            found.append({**_moment(entry), "action": None, "name": str(entry.data["text"]), "parts": []})
    return found


def proofs(book: Book, state: CaseState, entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """Proofs and follow-ups that were done after the last repair."""
    stands = standing_entries(entries)
    last = max((i for i, e in enumerate(stands) if e.kind in ("did", "did-other")), default=len(stands))
    due = {*state.proofs(book), *(check for a in state.actions for check in book.actions[a].follow_up)}
    due |= {name for check in due for name in standing_for(book, check)}
    found = []
    for entry in stands[last + 1 :]:
        if entry.kind in ("answer", "reading") and entry.data["check"] in due:
            check = book.checks[entry.data["check"]]
            shown = shown_by(book, entry.data)
            sure = bool(entry.data.get("sure", True))
            passed = sure and shown == check.outcomes[-1].label
            measured = reading_words(entry.data) if entry.kind == "reading" else ""
            told = {"name": check.name, "shown": shown, "sure": sure, "passed": passed, "measured": measured}
            found.append({**_moment(entry), **told})
    return found


def standing_since(book: Book, entries: Sequence[CaseEntry]) -> dict[str, str]:
    """What stands, in the order of the book, each with the moment since when."""
    moved, since = Moves(book.conditions), dict[str, str]()
    for entry in standing_entries(entries):
        when = entry.local or entry.at
        if entry.kind == "set-up":
            since = {c: since.get(c, when) for c in moved.closure({*since, entry.data["condition"]})}
        elif entry.kind == "restored":
            since.pop(entry.data["condition"], None)
        elif entry.kind == "found-standing":
            since = {c: since.get(c, when) for c in moved.closure(entry.data["standing"])}
    return {c: since[c] for c in book.conditions if c in since}


def skipped(book: Book, entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """Checks that were left out, and why."""
    return [
        {
            "entry": e.number, "name": step_name(book, e.data["check"]),
            "reason": e.data.get("why") or SKIPPED.get(e.data["reason"], e.data["reason"]),
        }
        for e in standing_entries(entries) if e.kind == "skipped"
    ]  # fmt: skip


def notes(entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """What was noted besides."""
    return [
        {"entry": e.number, "local": e.local or e.at, "who": e.who, "text": str(e.data["text"])}
        for e in standing_entries(entries)
        if e.kind == "note"
    ]


def _cautions(book: Book, entries: Sequence[CaseEntry]) -> list[dict[str, Any]]:
    """Cautions that were shown and acknowledged, each with the steps that they came before."""
    before: dict[str, dict[str, None]] = {}
    for entry in entries:
        if entry.kind == "cautions":
            for caution in entry.data["cautions"]:
                before.setdefault(caution, {})[step_name(book, entry.data["step"])] = None
    known = in_order(book, [caution for caution in before if caution in book.cautions])
    return [
        {"id": c, "level": book.cautions[c].level, "text": book.cautions[c].text, "before": list(before[c])}
        for c in known
    ]
