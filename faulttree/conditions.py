"""What stands on the aircraft, and what it takes to get from there to what a step needs.

The state is the set of conditions that stand; nothing standing is the aircraft as it flies. To move to what N
needs: the need is N with all it implies; off goes what the need excludes, then what implies something that goes
off, and what bars (``not_while``) anything to be set up or restored, until nothing changes; the rest of the need
is set up. What neither bars nor is needed stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from faulttree.book.model import Condition
from faulttree.errors import BadCondition, UnknownName


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
    after: frozenset[str]


class Moves:
    """Moves between sets of one book's conditions. What is kept between calls is a cache."""

    def __init__(self, conditions: Mapping[str, Condition]) -> None:
        self._conditions = conditions
        self._excluded: dict[str, set[str]] = {name: set(c.excludes) for name, c in conditions.items()}
        for name, condition in conditions.items():
            for other in condition.excludes:
                self._excluded.setdefault(other, set()).add(name)
        self._closures: dict[frozenset[str], frozenset[str]] = {}
        self._moves: dict[tuple[frozenset[str], frozenset[str]], Move] = {}

    def closure(self, needs: Iterable[str]) -> frozenset[str]:
        """The needs with all they imply. Raises UnknownName."""
        key = frozenset(needs)
        if key not in self._closures:
            found: set[str] = set()
            open_ends = list(key)
            while open_ends:
                name = open_ends.pop()
                if name not in self._conditions:
                    raise UnknownName(f"the book has no condition {name!r}")
                if name not in found:
                    found.add(name)
                    open_ends += self._conditions[name].implies
            self._closures[key] = frozenset(found)
        return self._closures[key]

    def conflict(self, names: Iterable[str]) -> tuple[str, str] | None:
        """The first pair of these that cannot stand together, or None."""
        for one, other in combinations(sorted(names), 2):
            if other in self._excluded[one]:
                return one, other
        return None

    def check_standing(self, names: Iterable[str]) -> frozenset[str]:
        """The conditions with all they imply, as a state. Raises UnknownName; BadCondition naming the pair."""
        standing = self.closure(names)
        pair = self.conflict(standing)
        if pair:
            raise BadCondition(f"{pair[0]} and {pair[1]} cannot stand together; leave one of them out")
        return standing

    def move(self, standing: frozenset[str], needs: Iterable[str]) -> Move:
        """From what stands to what is needed. Raises UnknownName; BadCondition if the need cannot stand."""
        need = self.closure(needs)
        key = (standing, need)
        if key not in self._moves:
            pair = self.conflict(need)
            if pair:
                raise BadCondition(f"{pair[0]} and {pair[1]} are needed at once and cannot stand together")
            self._moves[key] = self._work_out(standing, need)
        return self._moves[key]

    def restore_all(self, standing: frozenset[str]) -> Move:
        """Everything put back, as at the end of a job."""
        return self._total(self._restoring(standing), (), frozenset())

    def _work_out(self, standing: frozenset[str], need: frozenset[str]) -> Move:
        off = {name for name in standing if self._excluded[name] & need}
        while True:
            on = need - (standing - off)
            bars = {bar for name in on | off for bar in self._conditions[name].not_while}
            more = {n for n in standing - off if off & set(self._conditions[n].implies) or n in bars}
            if not more:
                break
            off |= more
        return self._total(self._restoring(off), self._setting_up(on), frozenset((standing - off) | on))

    def _total(self, off: tuple[str, ...], on: tuple[str, ...], after: frozenset[str]) -> Move:
        minutes = sum(self._conditions[name].restore_minutes for name in off)
        minutes += sum(self._conditions[name].set_up_minutes for name in on)
        waits = sum(self._conditions[name].waits for name in on)
        return Move(off, on, minutes, waits, sum(self._conditions[name].hazard for name in on), after)

    def _setting_up(self, names: Iterable[str]) -> tuple[str, ...]:
        """What is implied before what implies it; what another bars before that other."""
        return self._one_by_one(names, self._waits_to_be_set_up)

    def _restoring(self, names: Iterable[str]) -> tuple[str, ...]:
        """What implies another before that other; what bars another before that other."""
        return self._one_by_one(names, self._waits_to_be_restored)

    def _one_by_one(self, names: Iterable[str], waits: Callable[[str, list[str]], bool]) -> tuple[str, ...]:
        wanted = set(names)
        waiting = [name for name in self._conditions if name in wanted]
        result: list[str] = []
        while waiting:
            # A sound book always has one that can be done; a ring would have been refused by the reader.
            ready = next((name for name in waiting if not waits(name, waiting)), waiting[0])
            waiting.remove(ready)
            result.append(ready)
        return tuple(result)

    def _waits_to_be_set_up(self, name: str, waiting: list[str]) -> bool:
        others = [other for other in waiting if other != name]
        implied_later = any(other in self._conditions[name].implies for other in others)
        return implied_later or any(name in self._conditions[other].not_while for other in others)

    def _waits_to_be_restored(self, name: str, waiting: list[str]) -> bool:
        others = [other for other in waiting if other != name]
        leaned_on = any(name in self._conditions[other].implies for other in others)
        return leaned_on or any(other in self._conditions[name].not_while for other in others)
