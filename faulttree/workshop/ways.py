"""The safety rules of a plan: what all ways to a step have done, or may have found, and what is wanted from it on.

Sets are bits of whole numbers: checks and then repairs by their places, or the columns of the job's outcomes and then
repairs by theirs. An edge to a later step is allowed where what lies behind it suits everything from there on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from faulttree.advice.advisor import Round
from faulttree.book.model import Book, Check
from faulttree.workshop.legs import alike

NEVER = 1 << 4000
"""What no way has ever done: wanted where a step is for the noted leg and none was noted."""


class Step(NamedTuple):
    """A step of a plan: ``check``, ``act``, ``back`` or ``help``, its place in the job's list.

    ``back`` looks up what a check showed when it was last done, before a repair or since; its last way on is that of
    whoever never did it. ``legged``: it is done on the leg that was noted, and the place is that of any one leg.
    ``twice``: a repair that was not gone is looked over and done once more before whoever did it goes on.
    """

    kind: str
    place: int = -1
    legged: bool = False
    twice: bool = False


class Behind(NamedTuple):
    """What the ways to a step have in common, or may have.

    ``may`` may be remembered, ``known`` is surely: checks and repairs, by place. ``sure`` what every way has done ever:
    checks and, as repairs, that one was shown to be wanted. ``barring`` findings that may stand, by column. ``settled``
    questions that an answer may have made needless before they were asked.
    """

    may: int = 0
    known: int = 0
    sure: int = 0
    barring: int = 0
    settled: int = 0

    def joined(self, other: Behind) -> Behind:
        """Two ways that come together."""
        return Behind(
            self.may | other.may, self.known & other.known, self.sure & other.sure, self.barring | other.barring,
            self.settled | other.settled,
        )  # fmt: skip


@dataclass(frozen=True)
class Onward:
    """What a step and all after it do and want.

    ``wants`` what must be sure before, ``refuses`` findings that must not stand, ``lifting`` checks whose lifting
    of another's finding is counted on, ``asks`` questions that an answer may make needless, ``knows`` those of them
    that have to be answered before, since an answer from here on makes them needless and they are met after it.
    ``proves`` repairs by their bits, each with the findings that the checks after it are counted on to lift;
    ``relies`` those of them that are to lift what is found only from here on.
    """

    wants: int = 0
    refuses: int = 0
    lifting: int = 0
    asks: int = 0
    knows: int = 0
    proves: Mapping[int, int] = field(default_factory=dict)
    relies: int = 0


class Facts:
    """What the book says of the checks and actions of one job, by their places."""

    def __init__(self, round_: Round) -> None:
        self.job, moves, book = round_.job, round_.advisor.moves, round_.book
        checks, actions = self.job.checks, self.job.actions
        self.n_checks, self.columns = len(checks), int(self.job.shown.shape[1])
        self.first = [int(f) for f in self.job.first]
        place = {check.id: c for c, check in enumerate(checks)}
        self.due = [self.job.floor.due_after((a.id,)) for a in actions]
        self._legs(book)
        self.after = [_bits(place[n] for n in c.after if n in place) for c in checks]
        self.to_show = [_bits(place[n] for n in a.after_any if n in place) for a in actions]
        self._gives = [
            1 << c | _bits(self.n_checks + a for a, able in enumerate(self.to_show) if able & 1 << c)
            for c in range(self.n_checks)
        ]
        self.outcomes_of = [_bits(range(self.first[c], self.first[c + 1])) for c in range(self.n_checks)]
        self._done = [1 << (self.columns + a) for a in range(len(actions))]
        self._settles = [
            _bits(place[n] for n in outcome.needless if n in place) for check in checks for outcome in check.outcomes
        ]
        self._may_be_needless = _any_of(self._settles)
        self._lasting = _bits(self.job.lasting)
        self.before, self.ticked = self.columns + len(actions), False
        self._passing = sum(self.outcomes_of) & ~sum(self.outcomes_of[c] for c in self.job.lasting)
        self._lasting_outcomes = sum(self.outcomes_of[c] for c in self.job.lasting) | sum(self._done)
        self._lasting_outcomes |= sum(self.outcomes_of) << self.before
        self._find_bars(place)
        self.checks_barred = [self._speak_against(moves.closure(c.needs)) for c in checks]
        self.actions_barred = [self._speak_against(moves.closure(a.needs)) for a in actions]
        needed = [[moves.closure(book.checks[n].needs) for n in self.job.floor.due_after((a.id,))] for a in actions]
        self.found_after = [
            _bits(f for f in self.bars if self.check_of(f) in {place.get(n, -1) for n in due}) for due in self.due
        ]
        self.lifted_by_proving = [_any_of(self._speak_against(needs) for needs in one) for one in needed]

    def _legs(self, book: Book) -> None:
        """Which checks and actions are the same on each leg, by leg; which leg an outcome names."""
        self.legs = list(dict.fromkeys(leg for c in book.components.values() for leg in c.legs))
        self.of_leg: dict[tuple[str, int], dict[int, int]] = {}
        for kind, items in (("check", [*self.job.checks]), ("act", [*self.job.actions])):
            for places in alike(book, items, self.job.floor).values():
                by_leg = {self.legs.index(leg) + 1: place for leg, place in places.items()}
                self.of_leg.update({(kind, place): by_leg for place in by_leg.values()})
        ids = {leg: number for number, leg in enumerate(self.legs, 1)}
        self.names_leg = [leg for check in self.job.checks for leg in _legs_named(check, ids)]

    def on(self, step: Step, leg: int) -> Step | None:
        """The step itself where a leg (0: none) is the noted one; None where there is none for that leg."""
        if not step.legged:
            return step
        place = self.of_leg[step.kind, step.place].get(leg)
        return None if place is None else step._replace(place=place, legged=False)

    def noted(self, step: Step, o: int, leg: int) -> int:
        """The leg that is noted after an outcome."""
        return (self.names_leg[self.first[step.place] + o] or leg) if step.kind == "check" else leg

    def for_any_leg(self, step: Step, leg: int) -> Step | None:
        """The step for the noted leg of which this is the one for ``leg``; None where there is none."""
        by_leg = self.of_leg.get((step.kind, step.place), {})
        if by_leg.get(leg) != step.place:
            return None
        return step._replace(place=min(by_leg.values()), legged=True)

    def _find_bars(self, place: dict[str, int]) -> None:
        """Conditions barred by each finding; which findings still bar once a check showed an outcome."""
        self.bars: dict[int, frozenset[str]] = {}
        self.lifts: dict[int, frozenset[int]] = {}
        for c, check in enumerate(self.job.checks):
            for o, outcome in enumerate(check.outcomes):
                if outcome.bars:
                    self.bars[self.first[c] + o] = frozenset(outcome.bars)
                    self.lifts[self.first[c] + o] = frozenset(place[n] for n in outcome.until if n in place)
        self._own = [_bits(f for f in self.bars if columns & 1 << f) for columns in self.outcomes_of]
        self._lifters = _bits(c for checks in self.lifts.values() for c in checks)
        self._remain = [
            _bits(f for f in self.bars if self._remains(f, c, column))
            for c in range(self.n_checks) for column in range(self.first[c], self.first[c + 1])
        ]  # fmt: skip

    def check_of(self, finding: int) -> int:
        """The check that shows a finding."""
        return int(self.job.check_of_column[finding])

    def _remains(self, finding: int, c: int, column: int) -> bool:
        own = finding in range(self.first[c], self.first[c + 1])
        if not own and c not in self.lifts[finding]:
            return True
        return not own and not self.bars[finding].isdisjoint(self.bars.get(column, frozenset()))

    def _speak_against(self, needs: frozenset[str]) -> int:
        return _bits(finding for finding, bars in self.bars.items() if not needs.isdisjoint(bars))

    # -- one step --------------------------------------------------------------------------------------

    def bit(self, step: Step) -> int:
        """The place of a step among checks and then repairs."""
        return 1 << (step.place if step.kind == "check" else self.n_checks + step.place)

    def barred(self, step: Step) -> int:
        """Findings that speak against a step."""
        return (self.checks_barred if step.kind == "check" else self.actions_barred)[step.place]

    def recalled(self, step: Step, known: int) -> int:
        """The outcome of a step that is remembered; -1 where none is, and the step is done."""
        if step.kind in ("check", "back"):
            hit = known & self.outcomes_of[step.place]
            if not hit and step.kind == "back":
                hit = known >> self.before & self.outcomes_of[step.place]
            return hit.bit_length() - 1 - self.first[step.place] if hit else -1
        return 1 if step.kind == "act" and known & self._done[step.place] else -1

    def bits_of(self, step: Step) -> Iterable[tuple[int, int]]:
        """What it leads to once it was done, with the bits by which that is remembered."""
        if step.kind in ("check", "back"):
            first = self.first[step.place]
            since = [(o, first + o) for o in range(self.first[step.place + 1] - first)]
            return since if step.kind == "check" else [*since, *((o, self.before + bit) for o, bit in since)]
        return ((1, self.columns + step.place),) if step.kind == "act" else ()

    def bit_after_repair(self, bit: int) -> int:
        """The bit for what one remembers once a repair failed: what a check showed is then what it showed before."""
        return bit if self.stays_known(bit) else self.before + bit

    def stays_known(self, bit: int) -> bool:
        """Whether what is remembered by a bit is still so once a repair failed."""
        return bool(self._lasting_outcomes & 1 << bit)

    def known_after_repair(self, a: int, known: int) -> int:
        """What is remembered once a repair failed: repairs, answers about the squawk, and what was shown before it.

        The last only where that is reckoned with (``ticked``): plans are begun without, since it takes time.
        """
        before = (known & self._passing) << self.before if self.ticked else 0
        return known & self._lasting_outcomes | before | self._done[a]

    def of_check(self, c: int) -> int:
        """The bits of all that a check may have shown, before a repair or since."""
        return self.outcomes_of[c] | self.outcomes_of[c] << self.before

    def ways_on(self, step: Step) -> int:
        """How many ways lead on from a step, the end included."""
        if step.kind in ("check", "back"):
            return self.first[step.place + 1] - self.first[step.place] + (step.kind == "back")
        return 2 if step.kind == "act" else 0

    def gives(self, c: int) -> int:
        """What is sure once a check was done: itself, and that the repairs that it shows are wanted."""
        return self._gives[c]

    def shows_wanted(self, a: int, behind: Behind) -> int:
        """Checks after which a repair may be tried; all of them where it needs none, or one was done."""
        shown = not self.to_show[a] or behind.sure & 1 << (self.n_checks + a)
        return (1 << self.n_checks) - 1 if shown else self.to_show[a]

    def wants(self, step: Step) -> int:
        """What has to be sure before a step."""
        if step.kind == "check":
            return self.after[step.place]
        return self.bit(step) if step.kind == "act" and self.to_show[step.place] else 0

    def may_stand(self, step: Step, behind: Behind) -> bool:
        """Whether a step may be done with this behind it: nothing missing, nothing found against it."""
        if step.kind == "back":
            return True
        if step.kind == "check" and behind.settled & self.bit(step):
            return False
        return not self.wants(step) & ~behind.sure and not behind.barring & self.barred(step)

    # -- ways ------------------------------------------------------------------------------------------

    def past(self, step: Step, o: int, before: Behind) -> Behind:
        """What was done once a step showed an outcome."""
        if step.kind == "back":
            # Whoever finds a tick has done the check; of what it may have found then only what is ticked last stands.
            done = self.gives(step.place) if o < self.ways_on(step) - 1 else 0
            barring = before.barring & ~(self._own[step.place] & ~self._ticked(step, o))
            return before._replace(sure=before.sure | done, barring=barring)
        bit = self.bit(step)
        if step.kind == "act":
            stays = self._lasting | -1 << self.n_checks
            # A repair that was tried before is passed over, with the checks after it: they lift nothing then.
            lifted = 0 if before.may & bit else self.lifted_by_proving[step.place]
            barring = before.barring & ~lifted
            return Behind(before.may & stays | bit, before.known & stays | bit, before.sure, barring, before.settled)
        column = self.first[step.place] + o
        # What may have been done before may be passed over: it lifts nothing of another check's then.
        remain = ~self._own[step.place] if before.may & bit else self._remain[column]
        barring = before.barring & remain | (1 << column if column in self.bars else 0)
        settled = before.settled | self._settles[column] & ~before.known
        return Behind(before.may | bit, before.known | bit, before.sure | self.gives(step.place), barring, settled)

    def onward(self, step: Step, then: Sequence[Onward | None]) -> Onward:
        """What a step does and wants with all that it leads to (None: the end)."""
        if step.kind == "help":
            return Onward()
        wants = refuses = lifting = asks = knows = relies = 0
        proves: dict[int, int] = {}
        for o, one in enumerate(then):
            if one is None:
                continue
            remain = self._remain[self.first[step.place] + o] if step.kind == "check" else -1
            counted = dict(one.proves)
            relies |= one.relies
            if step.kind == "act":
                own = self.bit(step)
                counted[own] = counted.get(own, 0) | one.refuses & self.lifted_by_proving[step.place]
            for repair, findings in counted.items():
                if step.kind == "check" and findings & 1 << (self.first[step.place] + o):
                    relies |= repair
                if findings & remain:
                    proves[repair] = proves.get(repair, 0) | findings & remain
            ticked = step.kind == "back" and o < len(then) - 1
            wants |= one.wants & ~self.gives(step.place) if ticked else one.wants
            settles = self._settles[self.first[step.place] + o] if step.kind == "check" else 0
            lifting, asks, knows = lifting | one.lifting, asks | one.asks, knows | one.knows | one.asks & settles
            if step.kind == "act":
                refuses |= one.refuses & ~self.lifted_by_proving[step.place]
            elif step.kind == "back":
                refuses |= one.refuses & ~(self._own[step.place] & ~self._ticked(step, o))
            else:
                refuses |= one.refuses & remain
        if step.kind == "back":
            return Onward(wants, refuses, lifting, asks, knows, proves, relies)
        if step.kind == "check":
            knows &= ~self.bit(step)
            wants &= ~self.gives(step.place)
            lifting |= self.bit(step) & self._lifters
            asks |= self.bit(step) & self._may_be_needless
        else:
            lifting &= self._lasting
        return Onward(wants | self.wants(step), refuses | self.barred(step), lifting, asks, knows, proves, relies)

    def _ticked(self, step: Step, o: int) -> int:
        """The bit of what was ticked last where looking back leads on by that; 0 for whoever never did the check."""
        return 1 << (self.first[step.place] + o) if o < self.ways_on(step) - 1 else 0

    def allowed(self, past: Behind, then: Onward) -> bool:
        """Whether a way with this behind it may lead to this.

        A check that is to lift another's finding must not be one that was done before, and so is not done again; no
        more a repair whose proof is to lift what may stand.
        """
        if past.settled & then.asks or then.knows & ~past.known:
            return False
        if past.may & then.relies:
            return False
        if past.barring and any(past.may & repair and past.barring & f for repair, f in then.proves.items()):
            return False
        return not (then.wants & ~past.sure or past.barring & then.refuses or past.may & then.lifting)


def _legs_named(check: Check, ids: Mapping[str, int]) -> list[int]:
    """The leg that each outcome names, 0 for none; one alone is no leg: what is neither low nor high is "right"."""
    named = [ids.get(outcome.id, 0) if check.leg is None else 0 for outcome in check.outcomes]
    return named if len({leg for leg in named if leg}) > 1 else [0] * len(named)


def _bits(places: Iterable[int]) -> int:
    found = 0
    for place in places:
        found |= 1 << place
    return found


def _any_of(sets: Iterable[int]) -> int:
    found = 0
    for one in sets:
        found |= one
    return found
