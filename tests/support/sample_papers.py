"""Papers of an invented case as plain data: an aircraft QQ-ELM in the club's hangar; days, hours and limits made up."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

DIGEST = "sha256:" + "0123456789abcdef" * 4
NOW = "2031-03-14T15:42:00+01:00"

_CAUSES = {
    "guard-switch.lead-chafed": ("Guard switch lead chafed through", [0.09, 0.17, 0.34, 0.62, 0.97]),
    "gear-motor.worn-brushes": ("Gear motor brushes worn", [0.21, 0.28, 0.14, 0.06, 0.004]),
    "up-relay.contacts-burnt": ("Up relay contacts burnt", [0.15, 0.2, 0.26, 0.11, 0.003]),
    "gear-breaker.tripped": ("Gear motor breaker open", [0.24, 0.02, 0.004, 0.002, 0.0004]),
    "guard-switch.out-of-adjustment": ("Guard switch out of adjustment", [0.08, 0.11, 0.19, 0.15, 0.005]),
    "gearbox.binding": ("Gearbox stiff", [0.03, 0.02, 0.01, 0.005, 0.001]),
}


def head(paper: str) -> dict[str, Any]:
    """What every paper begins with."""
    return {
        "paper": paper, "format": 1, "case": "qq-elm-2031-03", "job": "QQ-ELM",
        "made_of": {"entries": 31, "digest": DIGEST, "last_local": NOW, "last_at": "2031-03-14T14:42:00+00:00"},
        "gear": {
            "family": "electromechanical", "name": "Electromechanical gear",
            "fitted": [
                {"group": "light-scheme", "option": "three-greens", "name": "Three greens and one amber",
                 "assumed": False},
                {"group": "doors", "option": "linked", "name": "Doors linked to the legs", "assumed": True},
            ],
            "voltage": "28 V", "profile": {"name": "QQ-ELM", "version": 3},
        },
        "knowledge": {"version": "2031.1", "digest": "sha256:" + "fedcba9876543210" * 4,
                      "overlays": [{"name": "ours", "digest": "sha256:" + "0123456789abcdef" * 4}],
                      "changed": [{"entry": 12, "version": "2031.1", "digest": "sha256:" + "fedcba9876543210" * 4,
                                   "overlays": [{"name": "ours", "digest": ""}]}]},
        "squawk": "wheels wont come up after takeoff, no noise from the motor",
        "opened": {"at": "2031-03-14T07:05:00+00:00", "local": "2031-03-14T08:05:00+01:00", "who": "mechanic"},
        "state": {"word": "closed", "reason": ""},
        "standing_cautions": [
            {"level": "WARNING", "text": "The maker's current maintenance manual, the airworthiness directives and the "
             "local rules govern. Where they differ from what stands here, follow them."},
            {"level": "WARNING", "text": "This is for persons certificated and equipped for the work."},
            {"level": "WARNING", "text": "For the hangar only. Never consult it in flight."},
        ],
    }  # fmt: skip


def _finding(entry: int, minute: str, name: str, shown: str, **more: Any) -> dict[str, Any]:
    made = {
        "entry": entry, "at": f"2031-03-14T{minute}:00+00:00", "local": f"2031-03-14T{minute}:00+01:00",
        "who": "mechanic", "kind": "look", "name": name, "shown": shown, "sure": True, "counts": True,
        "about_squawk": False, "reading": None,
    }  # fmt: skip
    return made | more


def _reading(value: float, unit: str, limit: float | None, reference: str) -> dict[str, Any]:
    return {"value": value, "unit": unit, "limit": limit, "reference": reference,
            "instrument": "Digital multimeter no. 4", "calibrated": "2030-11-02"}  # fmt: skip


def _course() -> list[dict[str, Any]]:
    words = [
        "case opened for QQ-ELM, electromechanical gear", 'squawk: "wheels wont come up after takeoff"',
        "reported: Gear will not come up", "25 flight hours since the gear was last known good",
        "Was the gear last lowered by the emergency means? No", "people at hand: 2",
        "4 cautions read before: Sound of the gear motor", "What is heard with the selector UP? Silent",
        "set up: On jacks", "Supply at the up relay: 27.9 V, limit 25 V", "Guard switch lead: rubbed through at clip",
        "repair done: Lead renewed and clipped clear", "Retraction test: the squawk is gone", "put back: On jacks",
        "case closed",
    ]  # fmt: skip
    return [
        {"number": n, "at": "2031-03-14T08:30:00+00:00", "local": f"2031-03-14T09:{n * 3:02d}:00+01:00",
         "who": "mechanic", "words": text, "undone": n == 9}
        for n, text in enumerate(words, start=1)
    ]  # fmt: skip


def record_paper() -> dict[str, Any]:
    """A troubleshooting record of a closed case, every part of it filled."""
    return deepcopy(head("record") | _what_was_found() | _what_was_done() | _foot())


def _what_was_found() -> dict[str, Any]:
    return {
        "symptoms": [{"id": "will-not-retract", "name": "Gear will not come up"}],
        "denied": [{"id": "horn-silent", "name": "Horn does not sound"}],
        "circumstances": [{"id": "wet", "name": "Rain or washing shortly before"}],
        "hours": 25.0, "hours_assumed": False,
        "opening": [{"ask": "Was the gear last lowered by the emergency means?", "answer": "No, by the normal means"},
                    {"ask": "Is every leg known to be locked down?", "answer": "Yes, every leg"}],
        "findings": [
            _finding(8, "09:24", "Sound of the gear motor", "Silent", kind="ask", about_squawk=True),
            _finding(14, "09:50", "Gear motor breaker", "In", counts=False),
            _finding(17, "10:12", "Supply at the up relay with the selector UP", "Supply is there", kind="test",
                     reading=_reading(27.9, "V", 25.0, "manual 32-30-05, rev. 7")),
            _finding(20, "10:40", "Continuity of the guard switch lead while it is moved", "Jumps", kind="test",
                     sure=False, reading=_reading(0.4, "ohm", None, "")),
            _finding(22, "11:03", "Guard switch lead chafed through", "seen", kind="found"),
        ],
        "moves": {
            "causes": [{"fault": fault, "name": name, "values": values} for fault, (name, values) in _CAUSES.items()],
            "unlisted": [0.05, 0.05, 0.04, 0.03, 0.01],
            "steps": [{"entry": 3, "label": "squawk"}] + [{"entry": n, "label": f"entry {n}"} for n in (8, 17, 20, 22)],
        },
        "ranking": [{"fault": fault, "name": name, "probability": values[-1], "now": values[-1] / 4}
                    for fault, (name, values) in _CAUSES.items()],
        "unlisted": 0.012, "left_out": 1e-6, "not_known": "",
        "ruled_out": [
            {"fault": "gear-breaker.tripped", "name": "Gear motor breaker open", "was": 0.24, "now": 0.0004,
             "by": [{"entry": 8, "name": "Sound of the gear motor", "shown": "Silent", "bits": -1.1},
                    {"entry": 17, "name": "Supply at the up relay with the selector UP", "shown": "Supply is there",
                     "bits": -6.5}]},
            {"fault": "gear-motor.worn-brushes", "name": "Gear motor brushes worn", "was": 0.21, "now": 0.004,
             "by": []},
        ],
    }  # fmt: skip


def _what_was_done() -> dict[str, Any]:
    return {
        "cause": {"fault": "guard-switch.lead-chafed", "name": "Guard switch lead chafed through",
                  "also": [{"fault": "motor.brushes-worn", "name": "Gear motor: brushes worn out"}],
                  "in_words": ["rubbed through at the second clip, bare for 4 mm"]},
        "actions": [{"entry": 24, "at": "", "local": "2031-03-14T13:10:00+01:00", "who": "mechanic",
                     "action": "mend-lead", "name": "Lead renewed and clipped clear",
                     "parts": ["Lead to drawing 14", "Two clips"]},
                    {"entry": 25, "at": "", "local": "2031-03-14T13:20:00+01:00", "who": "trainee", "action": None,
                     "name": "cleaned the terminal", "parts": []}],
        "proof": [{"entry": 27, "name": "Retraction test, five cycles", "shown": "The squawk is gone", "passed": True,
                   "local": "2031-03-14T14:20:00+01:00", "who": "mechanic"},
                  {"entry": 28, "name": "Emergency extension", "shown": "All legs lock", "passed": True,
                   "local": "2031-03-14T14:50:00+01:00", "who": "mechanic"}],
        "open_items": ["Second look at the clip after ten hours"],
        "standing": [{"id": "floor-panel-out", "name": "Seats and floor panel out",
                      "restore": "Put the panel and the seats back and check the seat locks.",
                      "since": "2031-03-14T09:40:00+01:00"}],
        "skipped": [{"entry": 18, "name": "Brush length", "reason": "not done"}],
        "notes": [{"entry": 23, "local": "2031-03-14T11:10:00+01:00", "who": "mechanic",
                   "text": "Second clip was bent.\nPhoto on the shop's camera."}],
        "cautions": [{"id": "jacking-points-and-lowering", "level": "WARNING",
                      "text": "Jack at the points that the manual gives.", "before": ["On jacks", "Retraction test"]},
                     {"id": "record-as-found-first", "level": "NOTE", "text": "Write down what you find first.",
                      "before": ["Continuity of the guard switch lead while it is moved"]}],
    }  # fmt: skip


def _foot() -> dict[str, Any]:
    return {
        "course": _course(),
        "entries": [
            {"number": 1, "at": "", "local": "", "who": "mechanic", "kind": "opened", "data": {}, "digest": ""}
        ],
    }


def handover_paper() -> dict[str, Any]:
    """A handover sheet in the middle of the work, the aircraft on jacks."""
    return deepcopy(head("handover") | {
        "gear": {**head("handover")["gear"], "fitted": head("handover")["gear"]["fitted"][:1]},
        "state": {"word": "open", "reason": ""},
        "now": {
            "standing": [
                {"name": "On jacks", "restore": "Legs down and locked, pins in, then lower evenly.",
                 "since": "2031-03-14T09:27:00+01:00", "hazard": True},
                {"name": "Motor breaker pulled and tagged", "restore": "Take the tag off and close the breaker.",
                 "since": "2031-03-14T09:35:00+01:00", "hazard": False},
                {"name": "Seats and floor panel out", "restore": "Put the panel and the seats back.",
                 "since": "2031-03-14T09:40:00+01:00", "hazard": False},
            ],
            "as_it_flies": False,
            "step": {"name": "Continuity of the guard switch lead", "where": "cautions read, being set up"},
        },
        "do_not_touch": [
            "On jacks holds Gear ready to run under power: leave it until Gear ready to run under power is put back.",
            "Do not push in a tripped gear motor breaker with weight on the wheels. If it opens again, it stays out "
            "until the fault is mended.",
        ],
        "open_items": ["No cause is named yet.", "Brush length: not done.", "The retraction test is still to come."],
        "next": [
            {"name": "Continuity of the guard switch lead while it is moved", "minutes_now": 12, "people": 2,
             "equipment": ["Multimeter", "Inspection lamp"]},
            {"name": "Brush length", "minutes_now": 35, "people": 1, "equipment": []},
            {"name": "Voltage across the up relay", "minutes_now": 8.4, "people": 2, "equipment": ["Multimeter"]},
        ],
        "top_causes": [{"name": name, "probability": values[3]} for name, values in list(_CAUSES.values())[:3]],
        "unlisted": 0.03, "not_known": "", "settled": "",
        "lately": [f"{line['number']}. 10:{line['number']:02d} {line['words']}" for line in _course()[-6:]],
        "notes": [{"entry": 23, "local": "2031-03-14T11:10:00+01:00", "who": "mechanic",
                   "text": "Second clip was bent. Photo on the shop's camera."}],
        "handed_by": "", "taken_by": "",
    })  # fmt: skip


_BLANK = {"date": "Date completed", "name": "Name of the person who did the work", "signature": "Signature",
          "certificate": "Certificate number", "kind": "Kind of certificate held"}  # fmt: skip


def entry_paper() -> dict[str, Any]:
    """A draft maintenance entry after the repair."""
    filled = [
        {
            "id": "work",
            "label": "Description of the work",
            "value": "see below",
            "filled": True,
            "why": "14 CFR 43.9(a)(1)",
        },
        {"id": "aircraft", "label": "Aircraft", "value": "QQ-ELM", "filled": True, "why": "common practice"},
    ]
    blank = [
        {"id": key, "label": label, "value": "", "filled": False, "why": "14 CFR 43.9(a)(4)"}
        for key, label in _BLANK.items()
    ]
    return deepcopy(head("entry") | {
        "draft": True,
        "rules": {"id": "us", "title": "Entry after maintenance by 14 CFR 43.9(a)",
                  "note": "The signature covers only the work described here."},
        "fields": filled + blank,
        "description": [
            'Squawk as reported: "wheels wont come up after takeoff, no noise from the motor".',
            "Supply at the up relay with the selector UP: 27.9 V, limit 25 V (manual 32-30-05, rev. 7).",
            "Guard switch lead found chafed through. Lead renewed and clipped clear.",
            "Retraction test, five cycles: the squawk is gone. Emergency extension: all legs lock.",
        ],
        "left_out": ["Entry 26 is left out: it uses a word that only the person who signs may use (14 CFR 43.2)."],
        "references": ["manual 32-30-05, rev. 7"],
        "instruments": ["Digital multimeter no. 4, calibrated 2030-11-02"],
        "remarks": ["Seats and floor panel are still out."],
    })  # fmt: skip


def all_papers() -> list[dict[str, Any]]:
    """One of each kind."""
    return [record_paper(), handover_paper(), entry_paper()]


def emptied(paper: dict[str, Any]) -> dict[str, Any]:
    """``paper`` with every list empty and all that may be missing missing."""
    out = {key: [] if isinstance(value, list) else value for key, value in paper.items()}
    if paper["paper"] == "record":
        out |= {"hours": None, "hours_assumed": False, "cause": {"fault": None, "name": "", "also": [], "in_words": []},
                "moves": {"causes": [], "unlisted": [], "steps": []}}  # fmt: skip
    if paper["paper"] == "handover":
        out |= {"now": {"standing": [], "as_it_flies": True, "step": None}}
    gear = dict(paper["gear"]) | {"fitted": [], "voltage": "", "profile": None}
    knowledge = {"version": "", "digest": "", "overlays": [], "changed": []}
    return out | {"job": "", "squawk": "", "gear": gear, "knowledge": knowledge}
