"""What stands on the aircraft, and what it takes to get from there to what a step needs.

The state is the set of conditions that stand; nothing standing is the aircraft as it flies. To move to what N
needs: the need is N with all it implies; off goes what the need excludes, then what implies something that goes
off, and what bars (``not_while``) anything to be set up or restored, until nothing changes; the rest of the need
is set up. What neither bars nor is needed stays as it is.

Each of these is forced: whatever way is taken, what is in ``off`` has to be restored at least once and what is in
``on`` set up at least once. In a sound book there is an order in which once is enough, so no way is shorter.

Sets of conditions are bits of an integer inside (the search for the next step asks for moves by the thousand).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from faulttree.book.model import Condition
from faulttree.errors import BadCondition, UnknownName

Standing = frozenset[str]
Needs = tuple[str, ...] | frozenset[str]


@dataclass(frozen=True, slots=True)
class Move:
    """Conditions to restore, then to set up, each in an order in which it can be done.

    ``minutes`` on the clock, ``waits`` in hours, ``hazards`` the number of risky set-ups, ``after`` what stands then.
    """

    off: tuple[str, ...]
    on: tuple[str, ...]
    minutes: float
    waits: float
    hazards: int
    after: Standing


class Cost(NamedTuple):
    """A move without its order: minutes, waits in hours, number of risky set-ups, what stands after it."""

    minutes: float
    waits: float
    hazards: int
    after: Standing


@dataclass(frozen=True, slots=True)
class Step:
    """One condition set up or restored: the words and minutes for it, and what stands when it is done."""

    condition: str
    sets_up: bool
    words: str
    minutes: float
    standing: Standing


class Moves:
    """Moves between sets of one book's conditions. What is kept between calls is a cache."""

    def __init__(self, conditions: Mapping[str, Condition]) -> None:
        self._conditions = conditions
        self._names, self._listed = tuple(conditions), tuple(conditions.values())
        self._place = {name: place for place, name in enumerate(self._names)}
        self._implies = [self._bits(c.implies) for c in conditions.values()]
        self._implied_by = _turned(self._implies)
        self._barred_by = [self._bits(c.not_while) for c in conditions.values()]
        self._bars = _turned(self._barred_by)
        excludes = [self._bits(c.excludes) for c in conditions.values()]
        self._excluded = [one | other for one, other in zip(excludes, _turned(excludes), strict=True)]
        # What is implied is set up before what implies it; what another bars before that other. Back in reverse.
        self._set_up_after = [one | other for one, other in zip(self._implies, self._bars, strict=True)]
        self._restored_after = [one | other for one, other in zip(self._implied_by, self._barred_by, strict=True)]
        self._closures: dict[Needs, Standing] = {}
        self._sound: dict[Needs, int] = {}
        self._costs: dict[tuple[Standing, Needs], Cost] = {}
        self._moves: dict[tuple[Standing, Needs], Move] = {}
        self._ends: dict[Standing, Cost] = {}
        self._standings: dict[int, Standing] = {}
        self._putting_back: dict[int, float] = {}
        self._setting_up: dict[int, tuple[float, float, int]] = {}

    def closure(self, needs: Iterable[str]) -> Standing:
        """The needs with all they imply. Raises UnknownName."""
        key = _key(needs)
        if key not in self._closures:
            self._closures[key] = self._named(self._closed(self._bits(key)))
        return self._closures[key]

    def conflict(self, names: Iterable[str]) -> tuple[str, str] | None:
        """The first pair of these that cannot stand together, or None.

        Either one excludes the other, or each would have to be set up before the other (for a longer ring: two
        neighbours of it). Raises UnknownName.
        """
        bits = self._bits(names)
        for one in sorted(self._named(bits)):
            barred = self._named(bits & self._excluded[self._place[one]])
            if barred:
                return one, min(barred)
        _, ring = self._in_order(bits, self._set_up_after)
        if ring:
            first = self._names[_first(ring)]
            return first, self._names[_first(ring & self._set_up_after[self._place[first]])]
        return None

    def check_standing(self, names: Iterable[str], *, whole: bool = False) -> Standing:
        """The conditions as a state that can be, with all they imply; ``whole``: what is implied must be named too.

        Raises UnknownName; BadCondition naming the pair that cannot stand together, or what is implied and missing.
        """
        named = self._bits(names)
        bits = self._closed(named)
        pair = self.conflict(self._named(bits))
        if pair:
            raise BadCondition(f"{pair[0]} and {pair[1]} cannot stand together; leave one of them out")
        if whole and bits != named:
            for place in _places(named):
                lacking = self._implies[place] & ~named
                if lacking:
                    missing = self._names[_first(lacking)]
                    raise BadCondition(f"{self._names[place]} stands only while {missing} does; name {missing} too")
        return self._named(bits)

    def move(self, standing: Standing, needs: Iterable[str]) -> Move:
        """From what stands to what is needed. Raises UnknownName; BadCondition if the need cannot stand."""
        key = standing, _key(needs)
        if key not in self._moves:
            off, on = self._off_and_on(self._bits(standing), self._need(key[1]))
            order, _ = self._in_order(on, self._set_up_after)
            self._moves[key] = Move(self._restored(off), order, *self.cost(*key))
        return self._moves[key]

    def cost(self, standing: Standing, needs: Iterable[str]) -> Cost:
        """What that move costs, and what stands after it. Raises as ``move`` does."""
        key = standing, _key(needs)
        found = self._costs.get(key)
        if found is None:
            stands = self._bits(standing)
            off, on = self._off_and_on(stands, self._need(key[1]))
            found = self._costs[key] = self._cost(off, on, (stands & ~off) | on)
        return found

    def after(self, standing: Standing, needs: Iterable[str]) -> Standing:
        """What stands after that move. Raises as ``move`` does."""
        return self.cost(standing, needs).after

    def restore_all(self, standing: Standing) -> Move:
        """Everything put back, as at the end of a job. Raises UnknownName."""
        return Move(self._restored(self._bits(standing)), (), *self.restoring_cost(standing))

    def without(self, standing: Standing, names: Iterable[str]) -> Move:
        """From what stands to none of these, with what has to go with them. Raises UnknownName."""
        stands = self._bits(standing)
        off = stands & self._bits(names)
        while more := stands & ~off & (_union(self._implied_by, off) | _union(self._barred_by, off)):
            off |= more
        return Move(self._restored(off), (), *self._cost(off, 0, stands & ~off))

    def restoring_cost(self, standing: Standing) -> Cost:
        """What it costs to put everything back. Raises UnknownName."""
        if standing not in self._ends:
            self._ends[standing] = self._cost(self._bits(standing), 0, 0)
        return self._ends[standing]

    def step_by_step(self, standing: Standing, move: Move) -> Iterator[Step]:
        """The single steps of a move from what stands, in an order in which they can be done.

        First what is put back, but for what is kept to the last: that stays until something which it speaks against
        is the next to be set up, and then goes in the order in which it was set up: a lock-out after all else.
        """
        off, on, stands = list(move.off), list(move.on), self._bits(standing)
        while off or on:
            name = self._put_back_next(off, on, stands) or on[0]
            one, sets_up = self._conditions[name], name not in off
            (on if sets_up else off).remove(name)
            stands ^= 1 << self._place[name]
            words, minutes = (one.set_up, one.set_up_minutes) if sets_up else (one.restore, one.restore_minutes)
            yield Step(name, sets_up, words, minutes, self._named(stands))

    def _put_back_next(self, off: Sequence[str], on: Sequence[str], stands: int) -> str | None:
        """What of ``off`` is put back now; None where the first of ``on`` is set up before it."""
        able = [c for c in off if not self._restored_after[self._place[c]] & stands]
        at_once = next((c for c in able if not self._conditions[c].kept_to_last), None)
        if at_once is not None or not on:
            return at_once or next(reversed(able), None)
        place = self._place[on[0]]
        # What is set up now must not stand in the way of what is still to be put back.
        fits = not stands & (self._excluded[place] | self._barred_by[place]) and not self._implies[place] & ~stands
        fits = fits and not self._bars[place] & self._bits(off)
        return None if fits or not able else able[-1]

    def _need(self, needs: Needs) -> int:
        """The needs, known to be able to stand, with all they imply."""
        if needs not in self._sound:
            need = self._closed(self._bits(needs))
            pair = self.conflict(self._named(need))
            if pair:
                raise BadCondition(f"{pair[0]} and {pair[1]} are needed at once and cannot stand together")
            self._sound[needs] = need
        return self._sound[needs]

    def _off_and_on(self, standing: int, need: int) -> tuple[int, int]:
        off = standing & _union(self._excluded, need)
        while True:
            left = standing & ~off
            on = need & ~left
            more = left and left & (_union(self._implied_by, off) | _union(self._barred_by, on | off))
            if not more:
                return off, on
            off |= more

    def _cost(self, off: int, on: int, after: int) -> Cost:
        if off not in self._putting_back:
            self._putting_back[off] = sum(self._listed[place].restore_minutes for place in _places(off))
        if on not in self._setting_up:
            set_up = [self._listed[place] for place in _places(on)]
            minutes, waits = sum(one.set_up_minutes for one in set_up), sum(one.waits for one in set_up)
            self._setting_up[on] = minutes, waits, sum(one.hazard for one in set_up)
        minutes, waits, hazards = self._setting_up[on]
        return Cost(self._putting_back[off] + minutes, waits, hazards, self._named(after))

    def _restored(self, bits: int) -> tuple[str, ...]:
        order, ring = self._in_order(bits, self._restored_after, backwards=True)
        # No way leads to a state that holds a ring; if one was recorded all the same, it can still be put back.
        return order + tuple(self._names[place] for place in _places(ring))

    def _in_order(self, bits: int, after: Sequence[int], backwards: bool = False) -> tuple[tuple[str, ...], int]:
        """These, each once nothing that it has to wait for is left, in the book's order; and what then is left over.

        What is put back goes backwards: what was set up last comes off first.
        """
        order: list[str] = []
        while True:
            places = reversed(tuple(_places(bits))) if backwards else _places(bits)
            ready = next((place for place in places if not after[place] & bits), None)
            if ready is None:
                return tuple(order), bits
            order.append(self._names[ready])
            bits &= ~(1 << ready)

    def _closed(self, bits: int) -> int:
        while True:
            more = bits | _union(self._implies, bits)
            if more == bits:
                return bits
            bits = more

    def _bits(self, names: Iterable[str]) -> int:
        bits = 0
        for name in names:
            if name not in self._place:
                raise UnknownName(f"the book has no condition {name!r}")
            bits |= 1 << self._place[name]
        return bits

    def _named(self, bits: int) -> Standing:
        found = self._standings.get(bits)
        if found is None:
            found = self._standings[bits] = frozenset([self._names[place] for place in _places(bits)])
        return found


def put_back_words(conditions: Mapping[str, Condition], names: Iterable[str]) -> str:
    """What is put back, as titles; what needs no hand at all (no minutes) is not told."""
    return ", ".join(conditions[name].put_back for name in names if conditions[name].restore_minutes)


def _key(needs: Iterable[str]) -> Needs:
    return needs if isinstance(needs, (tuple, frozenset)) else tuple(needs)


def _places(bits: int) -> Iterator[int]:
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def _first(bits: int) -> int:
    return (bits & -bits).bit_length() - 1


def _union(sets: Sequence[int], bits: int) -> int:
    union = 0
    while bits:
        lowest = bits & -bits
        union |= sets[lowest.bit_length() - 1]
        bits ^= lowest
    return union


def _turned(sets: Sequence[int]) -> list[int]:
    """For each place the places whose set holds it."""
    turned = [0] * len(sets)
    for place, bits in enumerate(sets):
        for other in _places(bits):
            turned[other] |= 1 << place
    return turned
