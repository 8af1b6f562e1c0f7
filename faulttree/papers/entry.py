"""The draft of a maintenance entry: what was done, in plain sentences; all that a person answers for is left blank."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from faulttree.book.model import Book
from faulttree.case import CaseEntry, CaseState, add_up, keeps_open, standing_entries
from faulttree.case.course import calibration, reading_words
from faulttree.errors import FaulttreeError
from faulttree.papers.record import findings, head, proofs, repairs, standing_since

RESERVED = re.compile(
    r"air[\s-]*worth[iy]"
    r"|\b(return|releas|restor)\w*([\s-]+[\w'-]+){0,5}?[\s-]+(to|for|into)[\s-]+(the[\s-]+)?(service|flight|flying)"
    r"|\bback[\s-]+(to|in|into)[\s-]+service"
    r"|over[\s-]*haul|\bre[\s-]*buil[td]|\bapprov(e|al|ing)",
    re.IGNORECASE,
)
"""Words that say more than a draft may (14 CFR 43.2, 43.9): somebody who is entitled to may write them, never this."""

OR = re.compile(r"\bor\b")
"""In the name of a repair that may be done in two ways: a draft cannot know which it was."""


@cache
def _rules() -> Mapping[str, Any]:
    text = files("faulttree.papers").joinpath("entry-rules.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def rules_known() -> list[str]:
    """The registries whose rules are known."""
    return list(_rules())


def entry(book: Book, name: str, entries: Sequence[CaseEntry], rules: str = "us") -> dict[str, Any]:
    """The draft as plain data. Raises BadCase; FaulttreeError for rules that are not known."""
    if rules not in _rules():
        raise FaulttreeError(f"there are no rules {rules!r} for an entry; there are {', '.join(rules_known())}")
    asked = _rules()[rules]
    state = add_up(book, entries)
    said, left_out = _description(book, state, entries)
    # By which data the work was done only the person who did it can say: a limit that was looked up is not that.
    used = {"job": _job(state, left_out), "description": "as described" if said else ""}
    return {
        **_quiet_head(book, name, entries, state, left_out),
        "draft": True,
        "rules": {"id": rules, "title": asked["title"], "note": asked["note"]},
        "fields": [_field(field, used) for field in asked["fields"]],
        "description": said,
        "left_out": list(dict.fromkeys(left_out)),
        "references": _references(entries),
        "instruments": _instruments(entries),
        "remarks": _remarks(book, state, entries),
    }


def _field(field: Mapping[str, str], used: Mapping[str, str]) -> dict[str, Any]:
    value = used.get(field.get("fill", ""), "")
    return {"id": field["id"], "label": field["label"], "value": value, "filled": bool(value), "why": field["why"]}


def _quiet_head(
    book: Book, name: str, entries: Sequence[CaseEntry], state: CaseState, left_out: list[str]
) -> dict[str, Any]:
    """The head, with nothing in it that was typed and says more than a draft may."""
    found = head("entry", book, name, entries, state)
    found["squawk"] = _kept(found["squawk"], "the squawk", left_out)
    found["job"] = _kept(found["job"], "the registration or job number", left_out)
    gear = found["gear"]
    found["gear"] = {
        **gear,
        "voltage": _kept(gear["voltage"], "the voltage", left_out),
        "profile": _kept_profile(gear["profile"], left_out),
    }
    found["state"] = {
        **found["state"],
        "reason": _kept(found["state"]["reason"], "the reason it is left open", left_out),
    }
    return found


def _kept_profile(profile: Mapping[str, Any] | None, left_out: list[str]) -> dict[str, Any] | None:
    """The profile's name was typed too; its version is a number."""
    if profile is None:
        return None
    return {**profile, "name": _kept(str(profile["name"]), "the name of the profile", left_out)}


def _job(state: CaseState, left_out: list[str]) -> str:
    return _kept(str(state.opened.get("job", "")), "the registration or job number", left_out)


def _kept(words: str, what: str, left_out: list[str]) -> str:
    """Typed words, or nothing where they hold what only the person who signs may say."""
    found = RESERVED.search(words)
    if found is None:
        return words
    left_out.append(
        f"{what[0].upper()}{what[1:]} is left out: it holds words that only the person who signs may write, if they "
        "are true (14 CFR 43.2 and 43.9). Write it by hand if it belongs here."
    )
    return ""


def _description(book: Book, state: CaseState, entries: Sequence[CaseEntry]) -> tuple[list[str], list[str]]:
    """Sentences in the order of a job, and what was left out of them."""
    left_out: list[str] = []
    said = []
    squawk = _kept(state.squawk, "the squawk", left_out)
    if squawk:
        said.append(f'Squawk as reported: "{squawk}".')
    proved = proofs(book, state, entries)
    told = {proof["entry"] for proof in proved}
    for finding in findings(book, entries):
        if finding["counts"] and finding["entry"] not in told and finding["kind"] in ("look", "test", "found", "words"):
            said += _finding(finding, left_out)
    said += [f"Cause named: {_lower(book.faults[cause].name)}." for cause in state.causes]
    for repair in repairs(book, entries):
        if repair["action"] is None:
            words = _kept(repair["name"], f"the repair of entry {repair['entry']}", left_out)
            said += [f'Repair, in the mechanic\'s words: "{words}".'] if words else []
        else:
            which = " (say which was done)" if OR.search(repair["name"]) else ""
            said.append(f"Repair: {_lower(repair['name'])}{which}.")
    said += [_proof(proof, left_out) for proof in proved]
    return list(dict.fromkeys(said)), left_out


def _proof(proof: Mapping[str, Any], left_out: list[str]) -> str:
    word = "Proof" if proof["passed"] else "Not passed" if proof["sure"] else "No proof, not sure"
    measured = _kept(proof["measured"], f"the reading of entry {proof['entry']}", left_out)
    return f"{word}: {_lower(proof['name'])}: {_lower(proof['shown'])}{f' ({measured})' if measured else ''}."


def _finding(finding: Mapping[str, Any], left_out: list[str]) -> list[str]:
    if finding["kind"] == "words":
        words = _kept(finding["name"], f"the find of entry {finding['entry']}", left_out)
        return [f'Found, in the mechanic\'s words: "{words}".'] if words else []
    if finding["kind"] == "found":
        return [f"Found: {_lower(finding['name'])}."]
    if finding["reading"] is not None:
        reading = _kept(reading_words(finding["reading"]), f"the reading of entry {finding['entry']}", left_out)
        return [f"{finding['name']}: {reading}."] if reading else []
    sure = "" if finding["sure"] else " (not sure)"
    return [f"{finding['name']}: {_lower(finding['shown'])}{sure}."]


def _lower(words: str) -> str:
    """With a small letter at the beginning, unless the word is one of capitals."""
    return words[:1].lower() + words[1:] if words[1:2].islower() else words


def _references(entries: Sequence[CaseEntry]) -> list[str]:
    """Where the limits stand that readings were judged by."""
    typed = [str(e.data["reference"]) for e in standing_entries(entries) if e.kind == "reading"]
    return [words for words in dict.fromkeys(typed) if not RESERVED.search(words)]


def _instruments(entries: Sequence[CaseEntry]) -> list[str]:
    found = []
    for entry in standing_entries(entries):
        if entry.kind == "reading" and entry.data.get("instrument"):
            until = entry.data.get("calibrated")
            found.append(f"{entry.data['instrument']}, {calibration(until)}")
    return [words for words in dict.fromkeys(found) if not RESERVED.search(words)]


def _remarks(book: Book, state: CaseState, entries: Sequence[CaseEntry]) -> list[str]:
    """What whoever signs has to know: what stands, what is open."""
    found = [f"Still standing: {book.conditions[c].name}." for c in standing_since(book, entries)]
    if not state.closed:
        reasons = keeps_open(book, state)
        found += [f"Open: {reason}." for reason in reasons if not reason.endswith("still stands")]
    return found
