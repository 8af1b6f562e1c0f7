"""The knowledge base as the program uses it: plain frozen data, one family, one set of fitted options.

A :class:`Book` is what the reader hands out once every file is sound. Legs are expanded, what is not
fitted is gone, chains and nested gates have become named events, and events stand in an order in which
every event comes after what it looks at. Nothing here imports more than the standard library, so that
the way from start to a ranked answer stays short.

Units: rates per 1000 flight hours of the aircraft, ``minutes`` on the clock, ``waits`` in hours,
probabilities in 0 … 1. ``None`` means "not stated"; an empty tuple means "stated: none".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

LEGS = ("left", "right", "nose")
"""The legs that a component may have, in the order in which they are listed."""

THE_SQUAWK = "the-squawk"
"""What an outcome of a proof names: any symptom reported before the last action."""


@dataclass(frozen=True, slots=True)
class Basis:
    """Where a number comes from: ``published``, ``common-practice``, ``estimate`` or ``shop-history``."""

    kind: str
    source: str | None = None
    where: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """One member of a group of fitted options."""

    id: str
    group: str
    name: str
    default: bool


@dataclass(frozen=True, slots=True)
class Component:
    """A part of the gear. ``legs`` gives the share of its rates that each leg has, empty for one part."""

    id: str
    name: str
    ata: str | None = None
    also_called: tuple[str, ...] = ()
    legs: Mapping[str, float] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fault:
    """A basic event: one failure mode of one component (of one leg, where it has legs).

    Exactly one of ``rate`` and ``probability`` is given. ``share`` of its occurrences come and go, and
    such a one is awake with probability ``shows`` when looked at; ``share`` 0 means that it never sleeps.
    """

    id: str
    component: str
    leg: str | None
    name: str
    rate: float | None = None
    probability: float | None = None
    share: float = 0.0
    shows: float = 1.0
    promoted_by: tuple[str, ...] = ()
    demoted_by: tuple[str, ...] = ()
    corrected_by: tuple[str, ...] = ()
    basis: Basis = Basis("estimate")


@dataclass(frozen=True, slots=True)
class Event:
    """An intermediate event. ``gate`` is ``any_of``, ``all_of``, ``at_least`` or ``not``.

    ``of`` names faults and earlier events. ``count`` serves ``at_least`` alone. ``not`` holds when none of
    ``of`` does. An empty ``any_of`` never holds (everything it named is not fitted).
    """

    id: str
    name: str
    gate: str
    of: tuple[str, ...]
    count: int = 0


@dataclass(frozen=True, slots=True)
class Symptom:
    """A top event with the words pilots use. ``when`` names a fault or an event."""

    id: str
    name: str
    says: tuple[str, ...]
    when: str
    unlisted: float
    noticed: float
    proof: str
    pilot_advice: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    denied_by: tuple[str, ...] = ()
    speaks_of: tuple[str, ...] = ()
    not_of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """One result of a check. ``when`` names a fault, an event or ``the-squawk``; ``None`` is "otherwise".

    As long as the check last showed it no step is proposed that needs one of the conditions ``bars``, unless one of the
    checks ``until`` was done too and showed what does not bar them. Nor are the questions asked that it makes
    ``needless``.
    """

    id: str
    label: str
    when: str | None
    detects: float
    bars: tuple[str, ...] = ()
    until: tuple[str, ...] = ()
    needless: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value: ``error`` is one standard deviation, in ``unit``. Below ``limit`` gives ``below``."""

    quantity: str
    unit: str
    error: float
    limit: str
    below: str
    above: str


@dataclass(frozen=True, slots=True)
class Check:
    """A question (``kind`` ``ask``), a look (``look``) or a test (``test``).

    ``about`` is ``squawk`` (what happened then) or ``now``. ``matrix`` holds rows by shown outcome and
    columns by true outcome, columns summing to one, where the check states it itself. ``proof`` marks a
    check whose bad outcome is tied to ``the-squawk``. One not ``proposed`` can be recorded, never advised. What it
    ``covers`` is not due beside it. One is asked ``only_with`` one of these symptoms reported, where there are any.
    A look comes ``near`` these components alone, where there are any; else near all that its outcomes look at.
    """

    id: str
    name: str
    kind: str
    about: str
    outcomes: tuple[Outcome, ...]
    false_alarm: float
    minutes: float
    ask: str | None = None
    how: tuple[str, ...] = ()
    healthy: str | None = None
    needs: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    only_with: tuple[str, ...] = ()
    near: tuple[str, ...] = ()
    waits: float = 0.0
    people: int = 1
    equipment: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    matrix: tuple[tuple[float, ...], ...] | None = None
    wakes: float = 0.0
    fresh: float = 0.2
    reading: Reading | None = None
    proof: bool = False
    proposed: bool = True
    leg: str | None = None
    basis: Basis = Basis("estimate")


@dataclass(frozen=True, slots=True)
class Action:
    """A corrective action: what it ``corrects``, each mode with probability ``effective``.

    One that is to be done ``once`` is not proposed again in the same case (a breaker is not reset twice). Before it is
    proposed one check ``after_any`` of these has to be done (nothing costly is replaced, nothing set, unmeasured).
    """

    id: str
    name: str
    corrects: tuple[str, ...]
    effective: float
    minutes: float
    how: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    waits: float = 0.0
    people: int = 1
    equipment: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    who: str | None = None
    cautions: tuple[str, ...] = ()
    follow_up: tuple[str, ...] = ()
    after_any: tuple[str, ...] = ()
    once: bool = False
    leg: str | None = None
    basis: Basis = Basis("estimate")


@dataclass(frozen=True, slots=True)
class Condition:
    """A state of the aircraft that a check or an action needs. See :mod:`faulttree.conditions`."""

    id: str
    name: str
    set_up: str
    restore: str
    set_up_minutes: float
    restore_minutes: float
    implies: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    not_while: tuple[str, ...] = ()
    kept_to_last: bool = False
    hazard: bool = False
    proposed: bool = True
    waits: float = 0.0
    people: int = 1
    equipment: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    restore_name: str = ""
    """What is done when it is put back, as a title; a state that is itself "off" or "out" reads the wrong way else."""
    basis: Basis = Basis("estimate")

    @property
    def put_back(self) -> str:
        """The title of putting it back."""
        return self.restore_name or f"Put back: {self.name}"


@dataclass(frozen=True, slots=True)
class Caution:
    """``level`` is ``WARNING`` (a person can be hurt), ``CAUTION`` (the aircraft can be damaged), ``NOTE``."""

    id: str
    level: str
    text: str


@dataclass(frozen=True, slots=True)
class Circumstance:
    """What surrounds the squawk. Factors are pairs (hard mode, comes-and-goes mode) on the rates.

    ``promotes`` acts on faults that name it under ``promoted_by``, ``demotes`` on those that name it under
    ``demoted_by``, ``intermittent`` on every fault that has both modes, ``steady`` on every fault that has
    the hard one alone.
    """

    id: str
    name: str
    ask: str
    promotes: tuple[float, float] = (1.0, 1.0)
    demotes: tuple[float, float] = (1.0, 1.0)
    intermittent: tuple[float, float] = (1.0, 1.0)
    steady: float = 1.0
    basis: Basis = Basis("estimate")


@dataclass(frozen=True, slots=True)
class Limit:
    """A named limit. ``typical`` is a value for orientation only; it never judges a reading."""

    id: str
    name: str
    unit: str
    where: str
    typical: float | None = None
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class OpeningAnswer:
    """What an answer to an opening question brings: cautions, words, conditions to set up before all else."""

    id: str
    label: str
    cautions: tuple[str, ...] = ()
    says: str | None = None
    first: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OpeningQuestion:
    """Asked before anything is touched."""

    id: str
    ask: str
    answers: tuple[OpeningAnswer, ...]


@dataclass(frozen=True, slots=True)
class Source:
    """A publication that a basis may cite."""

    id: str
    title: str
    publisher: str
    edition: str
    seen: str


@dataclass(frozen=True, slots=True)
class Defaults:
    """Figures that hold unless an item or the shop says otherwise; all of them stand in ``knowledge/shared``."""

    hours: float = 25.0
    noticed: float = 0.9
    effective: float = 0.95
    fresh: float = 0.2
    found_detects: float = 0.99
    found_false_alarm: float = 0.0001
    not_sure: float = 0.8
    factor_low: float = 0.1
    factor_high: float = 10.0
    unlisted: float = 0.03
    care: float = 10.0
    wait_weight: float = 0.1
    help: float = 1440.0
    comeback: float = 960.0
    conflict_bits: float = 4.0


@dataclass(frozen=True, slots=True)
class Book:
    """One family's knowledge. Mappings keep the order of the files; ``events`` is in topological order.

    ``words`` are words that mean the same where a pilot says them, separated by commas, by the one that stands for all.
    """

    family: str
    name: str
    version: str
    digest: str
    fitted: Mapping[str, str]
    assumed: tuple[str, ...]
    options: Mapping[str, Option]
    components: Mapping[str, Component]
    faults: Mapping[str, Fault]
    events: Mapping[str, Event]
    symptoms: Mapping[str, Symptom]
    checks: Mapping[str, Check]
    actions: Mapping[str, Action]
    conditions: Mapping[str, Condition]
    cautions: Mapping[str, Caution]
    circumstances: Mapping[str, Circumstance]
    limits: Mapping[str, Limit]
    equipment: Mapping[str, str]
    words: Mapping[str, str]
    sources: Mapping[str, Source]
    opening: tuple[OpeningQuestion, ...]
    standing_cautions: tuple[str, ...]
    defaults: Defaults
