"""What advice needs besides belief, and what it hands back: plain data."""

from __future__ import annotations

from dataclasses import dataclass, field

from faulttree.book.model import Defaults


@dataclass(frozen=True, slots=True)
class Figures:
    """The shop's figures, in minutes of cost. ``wait_weight`` is what a minute of waiting counts."""

    care: float
    wait_weight: float
    help: float
    comeback: float

    @classmethod
    def from_defaults(cls, defaults: Defaults) -> Figures:
        """The figures of the book, where the shop has not set its own."""
        return cls(defaults.care, defaults.wait_weight, defaults.help, defaults.comeback)


@dataclass(frozen=True, slots=True)
class Situation:
    """Where the job stands.

    ``standing`` conditions; ``done`` checks that this epoch need not be proposed again; ``people`` at hand
    (None: enough); ``lacking`` equipment; ``first`` conditions owed before anything but questions; ``owed``
    follow-up checks in the order in which they are due; ``acted`` whether an action was ever done.
    """

    standing: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    people: int | None = None
    lacking: frozenset[str] = frozenset()
    first: tuple[str, ...] = ()
    owed: tuple[str, ...] = ()
    acted: bool = False


@dataclass(frozen=True, slots=True)
class OutcomeAhead:
    """One result that a step may have: its probability, and the likeliest fault after it."""

    id: str
    label: str
    probability: float
    top_cause_after: str | None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One way to go on.

    ``kind`` is ``ask``, ``check``, ``act`` or ``help``. ``expected_minutes`` is the rest of the job in minutes of cost,
    this step included; ``minutes_now`` the clock minutes of this step with its setting up and restoring;
    ``saves_minutes`` what it saves against the best other way (negative: what it would lose).
    """

    kind: str
    id: str
    name: str
    expected_minutes: float
    minutes_now: float
    people: int = 1
    waits: float = 0.0
    equipment: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    to_set_up: tuple[str, ...] = ()
    to_restore: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    saves_minutes: float = 0.0
    bits: float = 0.0
    chance: float | None = None
    outcomes: tuple[OutcomeAhead, ...] = ()
    leads_to: str | None = None
    owed: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class ToGo:
    """Minutes that the rest of the job would take."""

    mean: float
    p50: float
    p80: float


@dataclass(frozen=True, slots=True)
class Advice:
    """All suggestions, best first, and what it would take from here."""

    suggestions: tuple[Suggestion, ...]
    to_go: ToGo
    waiting: tuple[str, ...] = field(default=())
