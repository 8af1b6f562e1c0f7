"""The best printed chart: one fixed order of checks, found by local search, with every order priced exactly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tests.jobs.model import HELP, Job, Policy, State, Step, begin, carry_out
from tests.jobs.policies import TELLS, Shop, by_weight_per_minute

MOST_ROUNDS = 20


def best_fixed_order(job: Job, *, skips: bool = False) -> Policy:
    """Follow the best fixed order of checks until one cause is as good as certain, or up to the best place to stop.

    After a repair that did not help the chart goes on where it was. With ``skips`` a check that can tell nothing any
    more is left out, which a printed chart cannot know. The order is a local optimum under moving one check and
    exchanging two, from several starts.
    """
    chart = Chart(job, skips)
    return chart.policy(min((chart.improve(start) for start in chart.starts()), key=chart.cost))


class Chart:
    """Orders are permutations of the checks and a mark (the number of checks): what follows the mark is not done."""

    def __init__(self, job: Job, skips: bool) -> None:
        self.job, self.skips, self.shop = job, skips, Shop(job)
        self.sequences: dict[tuple[int, ...], tuple[int, ...]] = {}
        self.costs: dict[tuple[int, ...], float] = {}
        self.numbers: dict[tuple[object, ...], int] = {}
        self.states: list[State] = []
        self.found: list[int | None] = []
        self.results: dict[tuple[int, Step], tuple[float, tuple[tuple[float, int], ...]]] = {}
        self.repairs: dict[int, float] = {}

    # -- orders ----------------------------------------------------------------------------------------

    def starts(self) -> Iterator[tuple[int, ...]]:
        """Orders to begin from: by weight per minute, by minutes, by information per minute, single faults first."""
        checks, start = range(len(self.job.checks)), begin(self.job)
        mark = len(self.job.checks)
        yield (*by_weight_per_minute(self.job), mark)
        yield (*sorted(checks, key=lambda i: self.shop.minutes(start, i)), mark)
        yield (*sorted(checks, key=lambda i: -self.shop.bits(start, i) / self.shop.minutes(start, i)), mark)

    def sequence(self, order: tuple[int, ...]) -> tuple[int, ...]:
        """The checks up to the mark, each behind what must come before it."""
        found = self.sequences.get(order)
        if found is None:
            done: list[int] = []
            for check in order[: order.index(len(self.job.checks))]:
                self._append(done, check)
            found = self.sequences[order] = tuple(done)
        return found

    def _append(self, done: list[int], check: int) -> None:
        if check not in done:
            for earlier in self.job.checks[check].after:
                self._append(done, earlier)
            done.append(check)

    def policy(self, order: tuple[int, ...]) -> Policy:
        """The chart as a policy."""
        return lambda state: self.step(state, self.sequence(order))

    def improve(self, order: tuple[int, ...]) -> tuple[int, ...]:
        """Exchange and move checks as long as that saves minutes."""
        for _ in range(MOST_ROUNDS):
            before = self.cost(order)
            for candidate in _neighbours(order):
                if self.cost(candidate) < self.cost(order) - TELLS:
                    order = candidate
            if self.cost(order) >= before:
                break
        return order

    # -- prices ----------------------------------------------------------------------------------------

    def cost(self, order: tuple[int, ...]) -> float:
        """Expected minutes of a job worked by this order."""
        sequence = self.sequence(order)
        if sequence not in self.costs:
            self.costs[sequence] = self._cost(self._number(begin(self.job)), sequence, 0)
        return self.costs[sequence]

    def step(self, state: State, sequence: Sequence[int]) -> Step:
        """What the chart says in a state."""
        fault = self.shop.found(state)
        if fault is not None:
            return ("repair", fault)
        for check in sequence if self._open(state) else ():
            if check not in state.ever_done and not (self.skips and self._skipped(state, check, sequence)):
                return ("check", check)
        return self.shop.finish(state)

    def _open(self, state: State) -> bool:
        """Whether some listed cause is still possible."""
        return 1.0 - state.weights[-1] > TELLS

    def _skipped(self, state: State, check: int, sequence: Sequence[int]) -> bool:
        """Whether a check tells nothing here and no later one that does has to wait for it."""
        return not any(
            self.shop.bits(state, i) > TELLS and check in self.shop.way_to(state, i)
            for i in sequence
            if i not in state.ever_done
        )

    def _cost(self, number: int, sequence: tuple[int, ...], place: int) -> float:
        state, fault = self.states[number], self.found[number]
        if fault is not None:
            return self._after(number, ("repair", fault), sequence, place)
        while place < len(sequence) and self._open(state):
            check = sequence[place]
            if not self.skips or not self._skipped(state, check, sequence):
                return self._after(number, ("check", check), sequence, place + 1)
            place += 1
        if number not in self.repairs:
            step = self.shop.finish(state)
            self.repairs[number] = self.job.help if step == HELP else self._after(number, step, sequence, place)
        return self.repairs[number]

    def _after(self, number: int, step: Step, sequence: tuple[int, ...], place: int) -> float:
        found = self.results.get((number, step))
        if found is None:
            result = carry_out(self.job, self.states[number], step)
            later = tuple((probability, self._number(after)) for probability, after in result.goes_on)
            found = self.results[number, step] = (result.minutes + result.ends * result.cost_of_end, later)
        cost, later = found
        for probability, after in later:
            cost += probability * self._cost(after, sequence, place)
        return cost

    def _number(self, state: State) -> int:
        """States that were reached by the same readings and repairs are one."""
        epochs: list[frozenset[object]] = []
        current: list[object] = []
        for event in state.history:
            current.append(event)
            if event[0] == "repair":
                epochs.append(frozenset(current))
                current = []
        key = (*epochs, frozenset(current), state.standing)
        if key not in self.numbers:
            self.numbers[key] = len(self.states)
            self.states.append(state)
            self.found.append(self.shop.found(state))
        return self.numbers[key]


def _neighbours(order: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Two exchanged, or one moved elsewhere."""
    size = len(order)
    for i in range(size):
        for j in range(size):
            if i < j:
                swapped = list(order)
                swapped[i], swapped[j] = swapped[j], swapped[i]
                yield tuple(swapped)
            if j not in (i, i + 1):
                rest = [*order[:i], *order[i + 1 :]]
                rest.insert(j, order[i])
                yield tuple(rest)
