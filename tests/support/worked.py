"""Worked cases of the shipped book, for papers: an invented aircraft of the club's hangar; hours and limits made up."""

from __future__ import annotations

from functools import cache
from typing import Any

from faulttree.book.model import Book
from faulttree.case import CaseEntry, add_up, chained
from faulttree.conditions import Moves
from tests.jobs.run import shipped_book

New = tuple[str, dict[str, Any]]

CHAFED = "ground-safety-switch.lead-chafed"
MEND = "rewire-ground-safety-lead"
REFERENCE = "maintenance manual 24-30-00, revision 7 (invented)"


@cache
def book() -> Book:
    """The shipped book of the electromechanical family."""
    return shipped_book()


def log(*new: New) -> list[CaseEntry]:
    """Entries a minute apart, chained as the store would."""
    entries: list[CaseEntry] = []
    for number, (kind, data) in enumerate(new, 1):
        minute = f"{8 + number // 60:02d}:{number % 60:02d}:00"
        at, local = f"2031-03-14T{minute}+00:00", f"2031-03-14T{minute}+00:00"
        who = "mechanic" if number < 20 else "lead"
        entry = CaseEntry(number, at, who, kind, data, local)
        entries.append(chained(entry, entries[-1].digest if entries else ""))
    return entries


def opened(squawk: str = "wouldn't come up after take-off in the rain", job: str = "QQ-ELM") -> list[New]:
    """Up to the first question."""
    known = book()
    return [
        ("opened", {
            "family": known.family, "fitted": [f"{g}={o}" for g, o in known.fitted.items()], "job": job,
            "uid": "00" * 16, "version": known.version, "digest": known.digest, "overlays": [],
            "assumed": ["horn-source=horn-from-rest-contact"],
            "aircraft": {"name": "QQ-ELM", "version": 2}, "voltage": "28 V",
            "limits": {"bus-voltage-under-load": {"value": 23.0, "unit": "V", "reference": REFERENCE}},
        }),
        ("squawk", {"text": squawk}),
        ("symptom", {"symptom": "will-not-retract", "present": True}),
        ("symptom", {"symptom": "horn-silent", "present": False}),
        ("symptoms-settled", {}),
        ("opening", {"question": "lowered-by-emergency-means", "answer": "no"}),
        ("opening", {"question": "legs-known-locked", "answer": "yes"}),
        ("circumstance", {"circumstances": ["wet"]}),
        ("hours", {"hours": 30.0}),
    ]  # fmt: skip


def first_half() -> list[New]:
    """A wrong answer taken back, a question that could not be told, a reading, a note; the aircraft on jacks."""
    return [
        *opened(),
        ("answer", {"check": "horn-on-selecting-up", "outcome": "blew", "sure": True}),
        ("undone", {"entry": 10}),
        ("answer", {"check": "horn-on-selecting-up", "outcome": "quiet", "sure": True}),
        ("answer", {"check": "motor-heard", "outcome": "silent", "sure": False}),
        ("skipped", {"check": "ammeter-on-selecting", "reason": "cannot-tell"}),
        ("started", {"kind": "check", "id": "bus-volts"}),
        ("cautions", {"step": "bus-volts", "cautions": ["breaker-is-the-safety"]}),
        ("set-up", {"condition": "master-on"}),
        ("instrument", {"name": "meter 4", "calibrated": "2031-11"}),
        ("reading", {
            "check": "bus-volts", "value": 24.4, "unit": "V", "limit": 23.0, "limit_id": "bus-voltage-under-load",
            "reference": REFERENCE, "instrument": "meter 4", "calibrated": "2031-11", "weights": [0.0, 1.0],
            "typed": "24.4 V",
        }),
        ("restored", {"condition": "master-on"}),
        ("note", {"text": "the second clamp on the leg is bent"}),
        ("started", {"kind": "check", "id": "wiggle-ground-safety-lead"}),
        ("cautions", {
            "step": "wiggle-ground-safety-lead", "cautions": ["jacking-points-and-lowering", "breaker-is-the-safety"],
        }),
        ("set-up", {"condition": "motor-breaker-pulled"}),
        ("set-up", {"condition": "on-jacks"}),
    ]  # fmt: skip


def half_worked() -> list[CaseEntry]:
    """A case in the middle of a step, the aircraft on jacks."""
    return log(*first_half())


def closed(sure: bool = True) -> list[CaseEntry]:
    """The same case to its end: found, mended, proved, put back, closed; unless ``sure``, left open in doubt."""
    known = book()
    jumps = known.checks["wiggle-ground-safety-lead"].outcomes[0].id
    work: list[New] = [
        *first_half(),
        ("answer", {"check": "wiggle-ground-safety-lead", "outcome": jumps, "sure": True}),
        ("found", {"fault": CHAFED}),
        ("started", {"kind": "act", "id": MEND}),
        ("did", {"action": MEND}),
    ]  # fmt: skip
    for check in add_up(known, log(*work)).owed(known):
        work.append(("answer", {"check": check, "outcome": known.checks[check].outcomes[-1].id, "sure": sure}))
    work.append(("cause", {"fault": CHAFED}))
    standing = add_up(known, log(*work)).standing
    work += [("restored", {"condition": c}) for c in Moves(known.conditions).restore_all(standing).off]
    return log(*work, ("closed", {}) if sure else ("left-open", {"reason": "nobody was sure of the proof"}))
