"""What advice needs besides belief, and what it hands back: plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from faulttree.book.model import Defaults


@dataclass(frozen=True, slots=True)
class Figures:
    """The shop's figures, in minutes of cost. ``wait_weight`` is what a minute of waiting counts.

    With an ``hourly_rate`` (money for an hour of one person) a minute counts once for each person, and ``prices``
    (money, by action) count as the minutes that they would buy. Without it minutes on the clock alone count.
    """

    care: float
    wait_weight: float
    help: float
    comeback: float
    hourly_rate: float | None = None
    prices: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def from_defaults(cls, defaults: Defaults) -> Figures:
        """The figures of the book, where the shop has not set its own."""
        return cls(defaults.care, defaults.wait_weight, defaults.help, defaults.comeback)

    def part_minutes(self, item: str) -> float:
        """The price of what an action puts in, as minutes of one person; 0 where rate or price is not known."""
        if self.hourly_rate is None:
            return 0.0
        return 60.0 * self.prices.get(item, 0.0) / self.hourly_rate


@dataclass(frozen=True, slots=True)
class Situation:
    """Where the job stands.

    ``standing`` conditions; ``done`` checks that this epoch need not be proposed again; ``ever`` checks done in any
    epoch (what had to come first once need not come first again); ``people`` at hand (None: enough); ``lacking``
    equipment; ``first`` conditions owed before anything but questions; ``owed`` follow-up checks in the order in which
    they are due; ``acted`` whether an action was ever done; ``shown`` what each check last showed, as (check, outcome),
    in the order in which they were last done;
    ``found`` the faults that were seen and that no action has corrected since; ``own_words`` whether a repair that the
    book does not know waits for its proof: nobody can say then that the proof would fail.
    """

    standing: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    people: int | None = None
    lacking: frozenset[str] = frozenset()
    first: tuple[str, ...] = ()
    owed: tuple[str, ...] = ()
    acted: bool = False
    ever: frozenset[str] = frozenset()
    shown: tuple[tuple[str, str], ...] = ()
    found: frozenset[str] = frozenset()
    own_words: bool = False


@dataclass(frozen=True, slots=True)
class OutcomeAhead:
    """One result that a step may have: its probability, the likeliest fault after it, and what would come next.

    ``then`` is the name of the next step after it, empty where that is not worked out.
    """

    id: str
    label: str
    probability: float
    top_cause_after: str | None
    then: str = ""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One way to go on.

    ``kind`` is ``ask``, ``check``, ``act`` or ``help``. ``expected_minutes`` is the rest of the job in minutes of cost,
    this step included; ``minutes_now`` the clock minutes of this step with its setting up and restoring, ``money_now``
    its labour and parts in money (None without an hourly rate); ``saves_minutes`` what it saves against the best other
    way (negative: what it would lose). ``also`` are conditions to set up with it though it does not need them, since
    what it sets up would bar them later. ``refined`` tells a value played to the end of the job from an estimate.
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
    also: tuple[str, ...] = ()
    money_now: float | None = None
    refined: bool = False


KINDS = ("asking", "checking", "setting-up", "repairing", "proving", "help")
"""What the minutes of a job go into."""


@dataclass(frozen=True, slots=True)
class ToGo:
    """Minutes on the clock that the rest of the job would take, help included where it would be called.

    ``split`` the mean by what it goes into, by the words of KINDS; ``money`` the mean in money (None without a rate);
    ``help`` the probability that the job ends with a specialist.
    """

    mean: float
    p50: float
    p80: float
    split: Mapping[str, float] = field(default_factory=dict)
    money: float | None = None
    help: float = 0.0


@dataclass(frozen=True, slots=True)
class Fetch:
    """What the next few steps want, so that one walk and one jacking serve them all."""

    people: int = 1
    equipment: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Waiting:
    """A step that would pay and cannot be done with the people and equipment at hand."""

    id: str
    name: str
    people: int
    lacking: tuple[str, ...]
    bits: float


@dataclass(frozen=True, slots=True)
class Advice:
    """All suggestions, best first, and what it would take from here.

    ``to_go`` is None where that was not asked for; ``refined`` tells whether the best ones were played to the end.
    """

    suggestions: tuple[Suggestion, ...]
    to_go: ToGo | None
    waiting: tuple[Waiting, ...] = ()
    fetch: Fetch = Fetch()
    refined: bool = False
