"""Moving between conditions: against a shortest path over single steps that shares no code with it."""

from __future__ import annotations

import heapq
from random import Random

import pytest

from faulttree.book.model import Condition
from faulttree.conditions import Moves
from faulttree.errors import BadCondition, UnknownName

State = frozenset[str]


def condition(name: str, minutes: tuple[float, float] = (1, 1), **more: tuple[str, ...]) -> Condition:
    return Condition(name, name, "", "", minutes[0], minutes[1], **more)


def random_conditions(random: Random, n: int) -> dict[str, Condition]:
    """Conditions a, b, … : each may imply or be barred by earlier ones only, so that no ring arises."""
    made: dict[str, Condition] = {}
    for i in range(n):
        earlier = list(made)
        made[chr(97 + i)] = condition(
            chr(97 + i),
            (random.randint(1, 40), random.randint(1, 40)),
            implies=tuple(x for x in earlier if random.random() < 0.25),
            excludes=tuple(x for x in earlier if random.random() < 0.15),
            not_while=tuple(x for x in map(chr, range(97, 97 + n)) if x > chr(97 + i) and random.random() < 0.2),
        )
    return made


def excluded(c: dict[str, Condition], one: str, other: str) -> bool:
    return one in c[other].excludes or other in c[one].excludes


def steps(c: dict[str, Condition], state: State) -> list[tuple[float, State]]:
    """Single steps out of a state, with their minutes."""
    found = []
    for name, one in c.items():
        if set(one.not_while) & state:
            continue
        if name in state:
            if not any(name in c[other].implies for other in state):
                found.append((one.restore_minutes, state - {name}))
        elif set(one.implies) <= state and not any(excluded(c, name, other) for other in state):
            found.append((one.set_up_minutes, state | {name}))
    return found


def shortest(c: dict[str, Condition], start: State, need: set[str]) -> float | None:
    """Dijkstra's least minutes from ``start`` to any state in which ``need`` stands; None if there is no way."""
    best = {start: 0.0}
    queue: list[tuple[float, int, State]] = [(0.0, 0, start)]
    tie = 0
    while queue:
        minutes, _, state = heapq.heappop(queue)
        if need <= state:
            return minutes
        if minutes > best[state]:
            continue
        for cost, after in steps(c, state):
            if minutes + cost < best.get(after, float("inf")):
                best[after] = minutes + cost
                tie += 1
                heapq.heappush(queue, (minutes + cost, tie, after))
    return None


def states(c: dict[str, Condition]) -> list[State]:
    """Every state that can be reached from the aircraft as it flies."""
    seen: set[State] = {frozenset()}
    open_ends: list[State] = [frozenset()]
    while open_ends:
        for _, after in steps(c, open_ends.pop()):
            if after not in seen:
                seen.add(after)
                open_ends.append(after)
    return sorted(seen, key=sorted)


def can_all_stand(c: dict[str, Condition]) -> bool:
    return all(shortest(c, frozenset(), {name}) is not None for name in c)


@pytest.mark.parametrize("seed", range(350))
def test_a_move_takes_as_long_as_a_shortest_path(seed: int) -> None:
    """From every reachable state to every need that can stand, minutes equal Dijkstra's."""
    random = Random(seed)
    c = random_conditions(random, 5)
    while not can_all_stand(c):
        c = random_conditions(random, 5)
    moves = Moves(c)
    for start in random.sample(states(c), min(6, len(states(c)))):
        need = set(random.sample(sorted(c), random.randint(1, 2)))
        least = shortest(c, start, need)
        if moves.conflict(moves.closure(need)):
            assert least is None
        elif least is not None:
            assert moves.move(start, need).minutes == least


@pytest.mark.parametrize("seed", range(60))
def test_a_move_can_be_done_in_its_order(seed: int) -> None:
    """Restoring and setting up one by one in the order given breaks no rule, and ends where the move says."""
    random = Random(seed)
    c = random_conditions(random, 5)
    while not can_all_stand(c):
        c = random_conditions(random, 5)
    moves = Moves(c)
    start = random.choice(states(c))
    need = random.choice(sorted(c))
    if moves.conflict(moves.closure([need])) or shortest(c, start, {need}) is None:
        return
    move, state = moves.move(start, [need]), start
    for name in move.off:
        assert (c[name].restore_minutes, state - {name}) in steps(c, state)
        state = state - {name}
    for name in move.on:
        assert (c[name].set_up_minutes, state | {name}) in steps(c, state)
        state = state | {name}
    assert state == move.after


def test_panels_come_out_before_the_jacks_go_in() -> None:
    """A floor panel needed on jacks is lifted first; on jacks already, the aircraft is lowered for it."""
    c = {
        "on-jacks": condition("on-jacks", (40, 30)),
        "floor-panel-out": condition("floor-panel-out", (35, 40), not_while=("on-jacks",)),
    }
    moves = Moves(c)
    assert moves.move(frozenset(), ["on-jacks", "floor-panel-out"]).on == ("floor-panel-out", "on-jacks")
    lowered = moves.move(frozenset({"on-jacks"}), ["on-jacks", "floor-panel-out"])
    assert (lowered.off, lowered.on, lowered.minutes) == (("on-jacks",), ("floor-panel-out", "on-jacks"), 105)


def test_conditions_that_cannot_stand_are_refused_by_name() -> None:
    """A state that holds an excluded pair is refused, naming the pair."""
    moves = Moves({"a": condition("a"), "b": condition("b", excludes=("a",))})
    with pytest.raises(BadCondition, match="a and b cannot stand together"):
        moves.check_standing(["a", "b"])


def test_an_unknown_condition_is_refused() -> None:
    """A condition that the book does not have is named."""
    with pytest.raises(UnknownName, match="'c'"):
        Moves({"a": condition("a")}).closure(["c"])
