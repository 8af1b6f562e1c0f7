"""Which new check would help most: what it would save if two kinds of faults could be told apart at a glance.

For each symptom a perfect look of a minute, that needs nothing set up and tells one kind of fault from another and
nothing else, is put into the book; the minutes that the rest of the job then takes by the quick choice are compared
with those without it. A kind of fault is one mode of a part, on whatever leg.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from faulttree.advice import Advisor, Situation
from faulttree.belief import Believer, Evidence, Reported
from faulttree.belief.priors import mode_priors
from faulttree.book.legs import without_leg
from faulttree.book.model import Book, Check, Event, Outcome
from faulttree.graph.gates import Gates
from faulttree.graph.quantify import Diagram
from faulttree.workshop.testability import of_symptom, outcomes_alone, telling

TRIED = 10
"""Pairs that are played for each symptom, those first that hold the most to be told."""

CHEAP, SURE = 3.0, 0.9
"""A check of so few minutes, with nothing to set up, that shows so surely, tells well enough already."""

HYPOTHETICAL = "wanted-check"


@dataclass(frozen=True, slots=True)
class Wanted:
    """A check that is not there. ``kinds`` are the faults, without leg, that it would tell from each other.

    ``saves`` minutes on the clock for each squawk of ``symptom``, of ``minutes`` without it; ``rate`` of such squawks
    per 1000 flight hours.
    """

    symptom: str
    kinds: tuple[str, ...]
    saves: float
    minutes: float
    rate: float

    @property
    def per_1000_hours(self) -> float:
        """Minutes saved in 1000 flight hours."""
        return self.saves * self.rate


def wanted(book: Book, symptoms: Sequence[str]) -> Iterator[tuple[str, list[Wanted]]]:
    """What would help for each symptom, the most saving first, as they are done, on all cores. Raises UnknownName."""
    workers = min(os.cpu_count() or 1, len(symptoms))
    if workers <= 1:
        yield from ((symptom, wanted_for(book, symptom)) for symptom in symptoms)
        return
    with ProcessPoolExecutor(workers, None, _keep, (book,)) as pool:
        yield from zip(symptoms, pool.map(_kept_for, symptoms), strict=True)


_books: list[Book] = []
"""The book of a process that works on one symptom after the other."""


def _keep(book: Book) -> None:
    _books[:] = [book]


def _kept_for(symptom: str) -> list[Wanted]:
    return wanted_for(_books[0], symptom)


def wanted_for(book: Book, symptom: str) -> list[Wanted]:
    """What would help for one symptom, the most saving first; what saves less than a minute is left out."""
    without = _minutes(book, symptom)
    rate = squawks(book, symptom)
    found = []
    for kinds in candidates(book, symptom):
        saves = without - _minutes(with_check(book, kinds), symptom)
        if saves >= 1.0:
            found.append(Wanted(symptom, tuple(kinds), saves, without, rate))
    return sorted(found, key=lambda one: (-one.saves, one.kinds))


def most_valuable(found: Sequence[Wanted], count: int) -> list[tuple[tuple[str, ...], list[Wanted]]]:
    """The kinds that are most worth telling apart over all symptoms, by minutes saved in 1000 flight hours."""
    together: dict[tuple[str, ...], list[Wanted]] = {}
    for one in sorted(found, key=lambda one: -one.per_1000_hours):
        together.setdefault(one.kinds, []).append(one)
    ranked = sorted(together.items(), key=lambda item: -sum(one.per_1000_hours for one in item[1]))
    return ranked[:count]


def squawks(book: Book, symptom: str) -> float:
    """About how many squawks of a symptom there are in 1000 flight hours, by the faults that are listed."""
    diagram = Diagram(book, book.symptoms[symptom].when)
    priors = {name: mode_priors(book, book.faults[name], (), book.defaults.hours) for name in diagram.faults}
    chance = diagram.probability({name: one.hard + one.comes_and_goes for name, one in priors.items()})
    return float(-np.log1p(-min(chance, 1.0 - 1e-9))) * 1000.0 / book.defaults.hours


# -- what is worth trying ----------------------------------------------------------------------------------


def candidates(book: Book, symptom: str) -> list[tuple[str, ...]]:
    """Kinds of faults worth telling apart: groups that no check tells apart, then pairs by the bits there are to tell.

    Left out are those that one action corrects, and those that a cheap and sure check tells apart already.
    """
    chances = _chances(book, symptom)
    members = members_of(book, chances)
    groups = [
        tuple(dict.fromkeys(without_leg(fault)[0] for fault in group)) for group in of_symptom(book, symptom).groups
    ]
    found = [
        tuple(sorted(group))
        for group in groups
        if len(group) > 1 and all(kind in members for kind in group) and _matters(book, members, group)
    ]
    told = _told_apart(book, members)
    pairs = [pair for pair in combinations(sorted(members), 2) if _matters(book, members, pair) and pair not in told]
    pairs.sort(key=lambda pair: (-_bits(chances[pair[0]], chances[pair[1]]), pair))
    return list(dict.fromkeys([*found, *pairs[:TRIED]]))


def _chances(book: Book, symptom: str) -> dict[str, float]:
    """Probability of each kind of fault that reaches the symptom, given the symptom."""
    below = Gates(book).below(book.symptoms[symptom].when)
    belief = Believer(book, 1).believe(Evidence((Reported(symptom),), (), None))
    chances: dict[str, float] = {}
    for fault, one in belief.faults.items():
        if fault in below and one.probability > 0:
            kind = without_leg(fault)[0]
            chances[kind] = chances.get(kind, 0.0) + one.probability
    return chances


def members_of(book: Book, kinds: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """The faults of each kind: one, or one for each leg."""
    asked = set(kinds)
    members: dict[str, list[str]] = {}
    for fault in book.faults:
        kind = without_leg(fault)[0]
        if kind in asked:
            members.setdefault(kind, []).append(fault)
    return {kind: tuple(faults) for kind, faults in members.items()}


def _matters(book: Book, members: Mapping[str, Sequence[str]], kinds: Sequence[str]) -> bool:
    """Whether it matters which of these it is: no one action corrects them all."""
    actions = [{action for fault in members[kind] for action in book.faults[fault].corrected_by} for kind in kinds]
    return not set.intersection(*actions)


def _told_apart(book: Book, members: Mapping[str, Sequence[str]]) -> set[tuple[str, str]]:
    """Pairs of kinds that some cheap and sure check tells apart on every leg."""
    checks = [
        c for c in telling(book)
        if c.proposed and not c.needs and not c.after and c.minutes <= CHEAP and c.matrix is None
        and min(o.detects for o in c.outcomes) >= SURE
    ]  # fmt: skip
    faults = [fault for kind in members.values() for fault in kind]
    shown = dict(zip(faults, outcomes_alone(book, faults, checks), strict=False))
    of_kind = {
        kind: [{int(shown[fault][c]) for fault in one} for c in range(len(checks))] for kind, one in members.items()
    }
    return {
        (one, other)
        for one, other in combinations(sorted(members), 2)
        if any(a.isdisjoint(b) for a, b in zip(of_kind[one], of_kind[other], strict=True))
    }


def _bits(one: float, other: float) -> float:
    """What there is to tell between two chances, in bits."""
    total = one + other
    share = np.array([one, other]) / total
    return float(-total * (share * np.log2(share)).sum())


# -- what it would save ------------------------------------------------------------------------------------


def with_check(book: Book, kinds: Sequence[str]) -> Book:
    """The book with a perfect look that tells these kinds from each other, and of anything else says either."""
    members = members_of(book, kinds)
    events = {
        f"{HYPOTHETICAL}/{kind}": Event(f"{HYPOTHETICAL}/{kind}", kind, "any_of", members[kind]) for kind in kinds
    }
    count = len(kinds)
    rows = [(*(float(true == shown) for true in range(count)), 1.0 / count) for shown in range(count)]
    shown = [Outcome(f"o{n}", kind, f"{HYPOTHETICAL}/{kind}", 1.0) for n, kind in enumerate(kinds)]
    check = Check(
        id=HYPOTHETICAL, name=HYPOTHETICAL, kind="look", about="now", minutes=1.0, false_alarm=0.0, wakes=1.0,
        outcomes=(*shown, Outcome("neither", "Neither", None, 1.0)), matrix=(*rows, (0.0,) * (count + 1)),
    )  # fmt: skip
    return replace(book, events={**book.events, **events}, checks={**book.checks, HYPOTHETICAL: check})


def _minutes(book: Book, symptom: str) -> float:
    """Mean minutes on the clock of a job by the quick choice, one fault at a time."""
    belief = Believer(book, 1).believe(Evidence((Reported(symptom),), (), None))
    to_go = Advisor(book).advise(belief, Situation()).to_go
    assert to_go is not None
    return to_go.mean
