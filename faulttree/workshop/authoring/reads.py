"""What the checks that the advice asks first show with a new cause: asked one by one, and tied to what is said.

Without this a cause that is tied to its squawk alone is taken off the list by the first honest answer of the pilot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from faulttree.book.files import SourceFile, collect
from faulttree.book.legs import leg_text
from faulttree.book.model import LEGS
from faulttree.book.reader import read
from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import Draft, files_of, split
from faulttree.workshop.authoring.ground import Ground
from faulttree.workshop.authoring.questions import Asker, Asking, chosen
from faulttree.workshop.authoring.walk import Met, Walker

MOST = 5
"""Questions of this kind in one interview, shared out among the squawks."""

LONGEST_ASKED = 230
"""Signs of the question as it is put to the pilot: three lines of a small window."""

OWN_LEG = "own-leg"

READS = "reads."
"""What the keys of these questions begin with."""

HELP = (
    "Think of an aircraft with this cause and no other. The advice asks this early; if the answer with your cause is "
    "not the one of a sound gear and you do not say so, the pilot's first honest answer takes it off the list."
)


class Walks:
    """Walks over books with a draft in them, kept as long as an interview goes on: each answer goes through anew.

    ``answered`` are checks of which it was said what they show: that holds too where the advice comes by another way.
    """

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.answered: tuple[str, ...] = ()
        self._kept: dict[tuple[str, tuple[str, ...]], Walker | None] = {}

    def over(self, draft: Draft) -> Walker | None:
        """A walker of the book as it would be with the draft; None where it does not load."""
        fitted = tuple(draft.case_data.get("fitted", ()))
        try:
            name, text = next(iter(files_of(draft, self.ground).items()))
        except BadAnswer:
            return None
        if (text, fitted) not in self._kept:
            self._kept[text, fitted] = self._walker(name, text, draft, fitted)
        return self._kept[text, fitted]

    def _walker(self, name: str, text: str, draft: Draft, fitted: Sequence[str]) -> Walker | None:
        files, problems = collect(self.ground.folders, self.ground.family)
        new = SourceFile(name, self.ground.layer, self.ground.family, text.encode())
        book, _ = read([*files, new], problems, self.ground.family, fitted)
        if book is None:
            return None
        fault = next((one for one in book.faults if _of(draft.fault, one)), None)
        return None if fault is None else Walker(book, fault)


def _of(written: str, fault: str) -> bool:
    """Whether a fault of the book is the one that is written so, or a leg's copy of it."""
    component, _, mode = written.partition(".")
    return fault == written or fault in [f"{component}-{leg}.{mode}" for leg in LEGS]


def asks_what_reads(
    asker: Asker, walks: Walks, draft: Draft, symptoms: Sequence[str], legs: Sequence[str]
) -> Asking[tuple[str, ...]]:
    """The outcomes, as ``check=outcome``, that stand for the new cause from now on."""
    tied: list[str] = []
    asked: set[str] = set()
    for number, symptom in enumerate(symptoms):
        share = -(-(MOST - len(asked)) // (len(symptoms) - number))
        for _ in range(share):
            walker = walks.over(replace(draft, places=(*draft.places, *tied)))
            met = _next(asker.ground, walker, symptom, asked) if walker is not None else None
            if met is None:
                break
            check = asker.ground.as_written("checks", met.check.id)
            asked.add(check)
            tied += yield from _asks(asker, check, (met.check.name, met.check.ask or ""), legs)
    there = {one.id for one in asker.ground.named("checks")}
    for check in (check for check in walks.answered if check in there and check not in asked):
        said = asker.ground.data("checks", check)
        told = leg_text(said["name"], None), leg_text(said.get("ask") or "", None)
        tied += yield from _asks(asker, check, told, legs)
    return tuple(tied)


def _next(ground: Ground, walker: Walker, symptom: str, asked: set[str]) -> Met | None:
    if symptom not in walker.book.symptoms:
        return None
    open = (
        met for met in walker.met(symptom) if met.against and ground.as_written("checks", met.check.id) not in asked
    )
    return next(open, None)


def _asks(asker: Asker, check: str, called: tuple[str, str], legs: Sequence[str]) -> Asking[list[str]]:
    """One question of a check, ``called`` by name and question; Enter leaves the check as it is.

    Outcomes that name the legs are one for a part that each has.
    """
    outcomes = asker.ground.data("checks", check)["outcomes"]
    by_leg = [leg for leg in legs if leg in outcomes]
    listed = [(name, leg_text(one["label"], None)) for name, one in outcomes.items() if name not in by_leg]
    if by_leg:
        listed.insert(0, (OWN_LEG, f"the leg that has it: {', '.join(by_leg)}"))
    sound = list(outcomes)[-1]
    question = chosen(f"{READS}{check}", f"With this cause alone, what does “{called[0]}” show?", listed, sound, HELP)

    def take(typed: str) -> str:
        name = question.take(typed)
        if name != sound:
            asker.ground.amendable(*split(f"{check}={by_leg[0] if name == OWN_LEG else name}", asker.ground))
        return name

    words = " ".join(called[1].split())
    told = (words if len(words) <= LONGEST_ASKED else f"{words[:LONGEST_ASKED].rstrip()} …",) if words else ()
    why = "The advice comes to this early. Any answer but the one that it gives speaks against your cause."
    said = yield from asker.ask(
        replace(
            question, lines=(*told, why), take=take,
            default_words=f"{question.default_words}, as with a sound gear",
        )
    )  # fmt: skip
    if said == sound:
        return []
    return [f"{check}={leg}" for leg in by_leg] if said == OWN_LEG else [f"{check}={said}"]
