"""A cause put anywhere in the shipped books makes a sound book: any part, squawk, point of a circuit, event, result.

More of them: `NEW_CAUSES=40 python -m pytest tests/knowledge/test_new_causes.py -n0`.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from faulttree.book.files import SourceFile, collect
from faulttree.book.reader import read
from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import Draft, files_of
from faulttree.workshop.authoring.ground import OUTCOMES, TAPS, Ground
from faulttree.workshop.authoring.session import Session
from tests.support.authored import CAUSE

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge"

MANY = int(os.environ.get("NEW_CAUSES", "2"))


def anywhere(ground: Ground, chance: random.Random) -> Draft:
    """A cause with a check and a repair of its own, tied to whatever comes up; what cannot be taken is drawn again."""

    def one_of(*sections: str) -> str:
        return chance.choice(list(ground.named(chance.choice(sections)))).id

    session = Session(ground, {})
    own = {"mode": "quite new", "component": chance.choice([one_of("components"), "new"]), "new-check": "y"}
    drawn = {"brings.1": ("symptoms",), "place.1": (TAPS, "events"), "seen.1": (OUTCOMES,)}
    while not isinstance(question := session.now, Draft):
        key = question.key
        if key not in drawn:
            session.answer({**CAUSE, **own}.get(key, ""))
            continue
        try:
            session.answer(one_of(*drawn[key]) if question.default is None or chance.random() < 0.6 else "")
        except BadAnswer:
            continue
    return question


@pytest.mark.parametrize("family", ["electromechanical", "power-pack", "engine-driven"])
def test_a_cause_put_anywhere_makes_a_sound_book(family: str) -> None:
    """At the options of its case, which have its part; the fault is in it, with its check and its repair."""
    ground, chance = Ground([KNOWLEDGE], family, KNOWLEDGE / "none"), random.Random(family)
    files, problems = collect([KNOWLEDGE], family)
    for _ in range(MANY):
        draft = anywhere(ground, chance)
        new = [SourceFile(name, 1, family, text.encode()) for name, text in files_of(draft, ground).items()]
        book, found = read([*files, *new], problems, family, draft.case_data.get("fitted", ()))
        assert (draft.places, found) == (draft.places, ())
        assert book is not None
        members = [fault for fault in book.faults.values() if fault.id.endswith(".quite-new")]
        assert members
        assert all(fault.corrected_by == ("clean-motor-plug",) for fault in members)
        assert "look-into-motor-plug" in book.checks
