"""Moving between conditions, against a shortest path over single steps that shares no code with it."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from faulttree.book import read_book
from faulttree.book.model import Condition
from faulttree.conditions import Moves, put_back_words
from faulttree.errors import BadCondition, UnknownName
from tests.support.books import condition
from tests.support.share import many

State = frozenset[str]
Conditions = dict[str, Condition]
NOTHING: State = frozenset()


# ------------------------------------------------------------------------------- the rules, one step at a time


def excluded(c: Conditions, one: str, other: str) -> bool:
    return one in c[other].excludes or other in c[one].excludes


def steps(c: Conditions, state: State) -> Iterator[tuple[str, float, State]]:
    """What can be set up or restored in a state: which condition, its minutes, what stands then."""
    for name, one in c.items():
        if set(one.not_while) & state:
            continue
        if name in state:
            if not any(name in c[other].implies for other in state):
                yield name, one.restore_minutes, state - {name}
        elif set(one.implies) <= state and not any(excluded(c, name, other) for other in {*state, name}):
            yield name, one.set_up_minutes, state | {name}


def distances(c: Conditions, start: State) -> dict[State, float]:
    """Dijkstra's least minutes from a state to every state that can be reached from it."""
    best = {start: 0.0}
    queue: list[tuple[float, list[str], State]] = [(0.0, [], start)]
    while queue:
        minutes, _, state = heapq.heappop(queue)
        if minutes > best[state]:
            continue
        for _, cost, after in steps(c, state):
            if minutes + cost < best.get(after, float("inf")):
                best[after] = minutes + cost
                heapq.heappush(queue, (minutes + cost, sorted(after), after))
    return best


def sound(c: Conditions) -> Conditions:
    """Without the conditions that can never stand, and without what is said of them."""
    while True:
        seen = NOTHING.union(*distances(c, NOTHING))
        if seen == set(c):
            return c
        c = {name: _about(c[name], seen) for name in c if name in seen}


def _about(one: Condition, known: State) -> Condition:
    implies, excludes, not_while = (
        tuple(x for x in some if x in known) for some in (one.implies, one.excludes, one.not_while)
    )
    return replace(one, implies=implies, excludes=excludes, not_while=not_while)


def needs_of(c: Conditions) -> list[State]:
    return [frozenset(some) for size in (1, 2) for some in combinations(sorted(c), size)]


def check_moves(c: Conditions) -> None:
    """From every state that can be reached, to every one or two of the conditions."""
    moves = Moves(c)
    for start in distances(c, NOTHING):
        least = distances(c, start)
        for need in needs_of(c):
            reached = [minutes for state, minutes in least.items() if need <= state]
            if not reached:
                with pytest.raises(BadCondition):
                    moves.move(start, need)
                continue
            move = moves.move(start, need)
            assert move.minutes == min(reached), (sorted(start), sorted(need))
            check_order(c, moves, start, need)


def check_order(c: Conditions, moves: Moves, start: State, need: State) -> None:
    """Every step of the move is allowed when its turn comes, and its figures are those of its steps."""
    move, state = moves.move(start, need), start
    for step in moves.step_by_step(start, move):
        assert (step.condition, step.minutes, step.standing) in list(steps(c, state)), (sorted(start), step)
        assert step.sets_up == (step.condition in step.standing)
        state = step.standing
    assert need <= state == move.after
    assert move.hazards == sum(c[name].hazard for name in move.on)
    assert move.waits == sum(c[name].waits for name in move.on)
    assert moves.cost(start, need) == (move.minutes, move.waits, move.hazards, move.after)


# ------------------------------------------------------------------------------------------------------- laws


def drawn(rng: Random) -> Conditions:
    """Four to six conditions that name each other at will, less those that can never stand; three are left at least."""
    names = "abcdef"[: rng.randint(4, 6)]
    made = {}
    for name in names:
        others = [other for other in names if other != name]
        implies, excludes, not_while = (
            tuple(other for other in others if rng.random() < often) for often in (0.12, 0.06, 0.15)
        )
        minutes = rng.randint(0, 40), rng.randint(0, 40)
        more = {"hazard": rng.random() < 0.3, "waits": float(rng.choice((0, 0, 2))), "kept_to_last": rng.random() < 0.3}
        made[name] = condition(name, *minutes, implies=implies, excludes=excludes, not_while=not_while, **more)
    left = sound(made)
    return left if len(left) >= 3 else drawn(rng)


condition_sets = st.integers(0, 2**32).map(lambda seed: drawn(Random(seed)))


@settings(max_examples=many(40, 160), deadline=None, derandomize=True)
@given(condition_sets)
def test_a_move_takes_as_long_as_a_shortest_path_and_can_be_done_in_its_order(c: Conditions) -> None:
    """In 320 random sets: minutes equal Dijkstra's, each step is allowed, and what cannot stand is refused."""
    check_moves(c)


RELATIONS = list(product([False, True], repeat=5))
"""Of a pair: the first implies the second, the second the first, they exclude each other, the first is barred by
the second, the second by the first."""


@pytest.mark.parametrize("relation", RELATIONS, ids=lambda r: "".join("ny"[x] for x in r))
def test_every_set_of_two_conditions(relation: tuple[bool, ...]) -> None:
    """Whatever two conditions say of each other, moves are shortest paths that can be done in their order."""
    one, other, apart, barred, bars = relation
    a = condition("a", 3, 5, implies=("b",) * one, excludes=("b",) * apart, not_while=("b",) * barred)
    b = condition("b", 7, 2, implies=("a",) * other, not_while=("a",) * bars)
    check_moves(sound({"a": a, "b": b}))


@settings(max_examples=many(25, 100), deadline=None, derandomize=True)
@given(condition_sets)
def test_no_step_is_taken_for_nothing(c: Conditions) -> None:
    """A move has as few steps as any way: what is neither needed nor in the way stays as it is."""
    c = {name: replace(one, set_up_minutes=1.0, restore_minutes=1.0) for name, one in c.items()}
    moves = Moves(c)
    for start in distances(c, NOTHING):
        fewest = distances(c, start)
        for need in needs_of(c):
            if moves.conflict(moves.closure(need)) is None:
                move = moves.move(start, need)
                assert len(move.off) + len(move.on) == min(n for state, n in fewest.items() if need <= state)


@settings(max_examples=many(25, 100), deadline=None, derandomize=True)
@given(condition_sets)
def test_exactly_the_states_that_can_be_reached_are_taken_as_standing(c: Conditions) -> None:
    """A set given by hand is refused if no way leads to it from the aircraft as it flies, else taken as it is."""
    moves, reached = Moves(c), distances(c, NOTHING)
    for size in range(len(c) + 1):
        for some in map(frozenset, combinations(sorted(c), size)):
            if some in reached:
                assert moves.check_standing(some, whole=True) == some
                assert moves.restore_all(some).minutes == reached_back(c, some)
            else:
                with pytest.raises(BadCondition):
                    moves.check_standing(some, whole=True)


def reached_back(c: Conditions, state: State) -> float:
    return distances(c, state)[NOTHING]


# ---------------------------------------------------------------------------------------------------- examples


def test_panels_come_out_before_the_jacks_go_in() -> None:
    """A floor panel needed on jacks is lifted first; on jacks already, the aircraft is lowered for it."""
    moves = Moves(
        {
            "on-jacks": condition("on-jacks", 40, 30),
            "floor-panel-out": condition("floor-panel-out", 35, 40, not_while=("on-jacks",)),
        }
    )
    assert moves.move(NOTHING, ["on-jacks", "floor-panel-out"]).on == ("floor-panel-out", "on-jacks")
    lowered = moves.move(frozenset({"on-jacks"}), ["on-jacks", "floor-panel-out"])
    assert (lowered.off, lowered.on, lowered.minutes) == (("on-jacks",), ("floor-panel-out", "on-jacks"), 105)


def test_steps_come_with_the_words_to_be_confirmed() -> None:
    """Each step of a move has the words of its condition, for setting up or for restoring."""
    moves = Moves({"a": condition("a", excludes=("b",)), "b": condition("b")})
    made = moves.step_by_step(frozenset("a"), moves.move(frozenset("a"), ["b"]))
    assert [step.words for step in made] == ["Restore a", "Set up b"]


@settings(max_examples=many(15, 60), deadline=None, derandomize=True)
@given(condition_sets)
def test_what_must_not_stand_is_put_back_in_the_fewest_minutes(c: Conditions) -> None:
    """And what stands only by it, or is in its way; from every state, without each of its conditions."""
    moves = Moves(c)
    for start in distances(c, NOTHING):
        least = distances(c, start)
        for name in sorted(start):
            move = moves.without(start, [name])
            assert move.minutes == min(minutes for state, minutes in least.items() if name not in state)
            state = start
            for step in moves.step_by_step(start, move):
                assert (step.condition, step.minutes, step.standing) in list(steps(c, state))
                state = step.standing
            assert state == move.after


def test_what_is_kept_to_the_last_comes_off_right_before_what_it_speaks_against() -> None:
    """The tag stays on the breaker while jacks go in and a gauge is teed into the line (common practice, no source)."""
    moves = Moves(
        {
            "tag": condition("tag", kept_to_last=True),
            "wells": condition("wells"),
            "jacks": condition("jacks"),
            "gauge": condition("gauge", implies=("jacks",)),
            "ready": condition("ready", implies=("jacks",), excludes=("tag", "wells")),
        }
    )
    start = frozenset({"tag", "wells"})
    made = [s.condition for s in moves.step_by_step(start, moves.move(start, ["ready", "gauge"]))]
    assert made == ["wells", "jacks", "gauge", "tag", "ready"]


def test_conditions_that_exclude_each_other_are_refused_by_name() -> None:
    """A state that holds an excluded pair is refused, naming the pair, even where one of them is only implied."""
    moves = Moves({"a": condition("a"), "b": condition("b", excludes=("a",)), "c": condition("c", implies=("b",))})
    with pytest.raises(BadCondition, match="a and b cannot stand together"):
        moves.check_standing(["a", "c"])


def test_what_is_implied_is_taken_to_stand_unless_all_must_be_named() -> None:
    """A condition given by hand brings what it implies; where all must be named, what is missing is named."""
    moves = Moves({"on-jacks": condition("on-jacks"), "gear-powered": condition("gear-powered", implies=("on-jacks",))})
    assert moves.check_standing(["gear-powered"]) == {"on-jacks", "gear-powered"}
    with pytest.raises(BadCondition, match="gear-powered stands only while on-jacks does; name on-jacks too"):
        moves.check_standing(["gear-powered"], whole=True)


def test_a_need_in_a_ring_is_refused_by_name() -> None:
    """Two conditions each to be set up only while the other does not stand are refused as a need, by name."""
    moves = Moves({"a": condition("a", not_while=("b",)), "b": condition("b", not_while=("a",))})
    with pytest.raises(BadCondition, match="a and b are needed at once and cannot stand together"):
        moves.move(NOTHING, ["a", "b"])


def test_everything_in_a_ring_can_still_be_put_back() -> None:
    """A state that no way leads to, recorded all the same, is restored as a whole."""
    moves = Moves({"a": condition("a", not_while=("b",)), "b": condition("b", not_while=("a",))})
    assert moves.restore_all(frozenset("ab")).off == ("a", "b")


def test_an_unknown_condition_is_refused() -> None:
    """A condition that the book does not have is named, whether it is needed or said to stand."""
    moves = Moves({"a": condition("a")})
    with pytest.raises(UnknownName, match="'c'"):
        moves.closure(["c"])
    with pytest.raises(UnknownName, match="'c'"):
        moves.move(frozenset("c"), ["a"])


def test_power_comes_back_last() -> None:
    """On the shipped book the lead is refitted and the jacks are down before the motor breaker goes in again."""
    reading = read_book([Path(__file__).parents[2] / "knowledge"], "electromechanical")
    assert reading.book is not None
    moves = Moves(reading.book.conditions)
    needs = ["motor-lead-isolated", "on-jacks", "motor-breaker-pulled", "master-on", "panels-off", "wells-open"]
    order = moves.restore_all(moves.check_standing(needs)).off
    assert order.index("master-on") < order.index("on-jacks") < order.index("motor-lead-isolated")
    assert order[-2:] == ("motor-breaker-pulled", "secured")


def test_putting_back_has_a_title_of_its_own() -> None:
    """A state that is itself an "off" reads the wrong way when its name stands behind "Put back"."""
    listed = {
        "dark": condition("dark", restore_name="Power back as it was"),
        "jacks": condition("jacks"),
        "resting": condition("resting", restore=0.0),
    }
    assert put_back_words(listed, listed) == "Power back as it was, Put back: jacks"
