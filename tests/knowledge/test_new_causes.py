"""A cause put anywhere in the shipped books makes a sound book: any part, squawk, point of a circuit, event, result.

More of them: `NEW_CAUSES=40 python -m pytest tests/knowledge/test_new_causes.py -n0`.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from faulttree.belief import Believer, Evidence, Reported, plain
from faulttree.book.files import SourceFile, collect
from faulttree.book.reader import read
from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import Draft, files_of
from faulttree.workshop.authoring.ground import OUTCOMES, TAPS, Ground
from faulttree.workshop.authoring.reads import MOST
from faulttree.workshop.authoring.session import Session
from tests.support.authored import CAUSE

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge"

MANY = int(os.environ.get("NEW_CAUSES", "1"))


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


CLIP = {
    "component": "gear-door", "mode": "stowage clip worn", "rate": "0.05", "fault.basis": "", "sleeps": "n",
    "promoted.1": "", "brings.1": "noise-in-transit", "place.1": "", "seen.1": "", "case.within": "50",
}  # fmt: skip
"""A cause that is heard, tied by nothing but its squawk and a check of its own."""


def left_of_it(at: Path, reads: str) -> float:
    """The share that is left of the share of the clip once the pilot has said that it is heard all the way."""
    ground = Ground([KNOWLEDGE], "electromechanical", at / "ours")
    answers = {**CAUSE, **CLIP, "reads.noise-when": reads}
    session = Session(ground, {})
    asked = []
    while not isinstance(question := session.now, Draft):
        asked.append(question.key)
        session.answer(answers.get(question.key, ""))
    assert "reads.noise-when" in asked
    assert len([key for key in asked if key.startswith("reads.")]) <= MOST
    files, problems = collect([KNOWLEDGE], "electromechanical")
    new = [SourceFile(name, 1, "electromechanical", text.encode()) for name, text in files_of(question, ground).items()]
    book, found = read([*files, *new], problems, "electromechanical", ())
    assert book is not None, found
    believer, said = Believer(book, 2), plain(book, "noise-when", "all-the-way")
    before, after = (
        sum(share for fault, share in belief.as_it_was.items() if fault.endswith("stowage-clip-worn"))
        for belief in (
            believer.believe(Evidence((Reported("noise-in-transit"),))),
            believer.believe(Evidence((Reported("noise-in-transit"), said))),
        )
    )
    return after / before


def test_the_first_honest_answer_leaves_a_new_cause_on_the_list(tmp_path: Path) -> None:
    """With what is asked of the lead answered it comes forward; as a sound gear would read it would be gone."""
    assert left_of_it(tmp_path, "all-the-way") > 1.0
    assert left_of_it(tmp_path, "") < 0.25
