"""What an entry of a log that comes from elsewhere has to hold: nothing is taken in that could not be used."""

from __future__ import annotations

from typing import Any

import pytest

from faulttree.case import CaseEntry, misfit

LIMIT = {"value": 40.0, "unit": "A", "reference": "MM 32-30"}
READING = {"check": "c", "value": 12.5, "unit": "A", "weights": [0.2, 0.8]}

SOUND: list[tuple[str, dict[str, Any]]] = [
    ("opened", {"family": "f", "fitted": [], "digest": "d", "limits": {"current": LIMIT}}),
    ("knowledge", {"version": "2", "digest": "e", "overlays": [], "unconfirmed": [3, 5]}),
    ("hours", {"hours": None}),
    ("hours", {"hours": 12}),
    ("at-hand", {"people": None}),
    ("at-hand", {"people": 2, "lacking": ["multimeter"]}),
    ("reading", READING),
    ("answer", {"check": "c", "outcome": "o"}),
    ("answer", {"check": "c", "outcome": "o", "sure": False}),
    ("closing", {}),
    ("of-a-later-version", {"whatever": object()}),
]

UNFIT: list[tuple[str, dict[str, Any], str]] = [
    ("squawk", {}, "text"),
    ("squawk", {"text": 5}, "text"),
    ("symptom", {"symptom": "s", "present": "yes"}, "present"),
    ("circumstance", {"circumstances": "wet"}, "circumstances"),
    ("circumstance", {"circumstances": ["wet", 1]}, "circumstances"),
    ("hours", {"hours": "many"}, "hours"),
    ("hours", {"hours": True}, "hours"),
    ("hours", {"hours": float("nan")}, "hours"),
    ("hours", {"hours": float("inf")}, "hours"),
    ("hours", {"hours": 10**400}, "hours"),
    ("at-hand", {"people": True}, "people"),
    ("at-hand", {"people": 1.5}, "people"),
    ("undone", {"entry": 2.0}, "entry"),
    ("undone", {"entry": True}, "entry"),
    ("knowledge", {"version": "2", "digest": "e", "overlays": [], "unconfirmed": [3, "5"]}, "unconfirmed"),
    ("knowledge", {"version": "2", "digest": "e", "overlays": [], "unconfirmed": 3}, "unconfirmed"),
    ("reading", {**READING, "weights": [0.2, "0.8"]}, "weights"),
    ("reading", {**READING, "weights": 0.2}, "weights"),
    ("reading", {**READING, "limit": "40"}, "limit"),
    ("answer", {"check": "c", "outcome": "o", "sure": 1}, "sure"),
    ("opened", {"family": "f", "fitted": [], "digest": "d", "limits": [LIMIT]}, "limits"),
    ("opened", {"family": "f", "fitted": [], "digest": "d", "limits": {"current": 40.0}}, "limits"),
    ("opened", {"family": "f", "fitted": [], "digest": "d", "limits": {"current": {**LIMIT, "value": "40"}}}, "limits"),
    ("opened", {"family": "f", "fitted": [], "digest": "d", "limits": {"current": {"value": 40.0}}}, "limits"),
]


@pytest.mark.parametrize(("kind", "data"), SOUND)
def test_what_has_all_that_its_kind_needs_is_taken(kind: str, data: dict[str, Any]) -> None:
    """Kinds that this version does not know are looked at where the case is added up."""
    assert misfit([CaseEntry(1, "", "m", kind, data)]) == ""


@pytest.mark.parametrize(("kind", "data", "key"), UNFIT)
def test_what_lacks_something_is_named(kind: str, data: dict[str, Any], key: str) -> None:
    """The entry by number and kind, and what of it could not be used; the one before it is sound."""
    entries = [CaseEntry(1, "", "m", "note", {"text": "t"}), CaseEntry(2, "", "m", kind, data)]
    assert misfit(entries) == f"entry 2 ({kind}) has no {key!r} that could be used"
