"""Random troubleshooting jobs of realistic shape and minutes. None of the numbers is field data."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from tests.jobs.model import Check, Condition, Fault, Hypothesis, Job, Proof

MINUTES: dict[str, tuple[float, float, float, float]] = {
    "master": (2, 2, 1, 1),
    "jacks": (25, 50, 10, 20),
    "panel": (10, 30, 10, 30),
    "bay": (5, 15, 5, 15),
    "flight": (20, 40, 5, 15),
}
"""Least and most minutes to set up, least and most to restore."""
UNLISTED = 0.03
PAIRS = 0.05
SLEEPING_SHARE = 0.35
SHOWS = 0.4


@dataclass(frozen=True)
class Place:
    """A subsystem: its faults in order along the system, and the condition that gives access to it."""

    faults: tuple[int, ...]
    condition: str | None


def job(
    seed: int,
    *,
    faults: int,
    checks: int,
    conditions: int,
    perfect: bool,
    setups: float = 1.0,
    on_wheels: bool = False,
    sleeping: bool = False,
    not_while: bool = False,
) -> Job:
    """Draw a job; the same arguments give the same job.

    Faults fall into ``faults`` / 4 subsystems (each gets at least one), each with a place: nothing, jacks, panel or
    bay, a quarter each. Weight gamma(1.5) of the subsystem × gamma(0.8) + 0.002, normalised; 3 % unlisted. A perfect
    job with an odd seed has three pairs of faults, 5 % together. ``setups`` multiplies set-up and restore minutes.

    Decided here: the master switch is always a condition, jacks from three conditions on, the panel if
    ``not_while``; the others are drawn. A flight needs the master switch and cannot be made on jacks or with panel
    or bay open. A place whose condition was not drawn is open. A single-fault check needs its place and with 0.3
    the master switch, a half-split its place and with 0.5 the master switch. A functional check
    needs the master switch and, where a flight is a condition, a flight with 0.25, else the jacks. Its prerequisite
    is the quickest single-fault check off jacks, if there is one. Pairs share their 5 % in proportion to the
    product of the weights, and do not sleep. With ``sleeping`` half of the faults occur hard (0.65) or come and go
    (0.35, awake with 0.4). With ``not_while`` the panel moves only while not on jacks, and a functional check on a
    place under the panel needs it out as well with 0.5. A passed proof with something still standing costs as much
    as help.
    """
    rng = random.Random(seed)
    names = _names(rng, conditions, not_while)
    places = _places(rng, faults)
    weights = _weights(rng, places, faults)
    parts = [_fault(rng, _at(rng, names, _place_of(places, f), 0.85), sleeping) for f in range(faults)]
    proof_needs = _indices(names, "master") if on_wheels else _indices(names, "master", "jacks")
    proof = Proof(rng.uniform(8, 15), proof_needs)
    checks_drawn = _checks(rng, names, places, checks, perfect, not_while)
    pairs = _pairs(rng, weights) if perfect and seed % 2 else {}
    help_minutes = rng.uniform(350, 700)
    return Job(
        conditions=_conditions(rng, names, setups, not_while),
        faults=tuple(parts),
        checks=checks_drawn,
        hypotheses=_hypotheses(weights, pairs, parts),
        unlisted=UNLISTED,
        proof=proof,
        help=help_minutes,
        comeback=help_minutes,
    )


# ------------------------------------------------------------------------------------------------- conditions


def _names(rng: random.Random, number: int, not_while: bool) -> list[str]:
    sure = ["master", *(["jacks"] if number >= 3 or not_while else []), *(["panel"] if not_while else [])]
    open_to_choice = [name for name in MINUTES if name not in sure]
    if not len(sure) <= number <= len(MINUTES):
        raise ValueError(f"{number} conditions asked for; {len(sure)} to {len(MINUTES)} are possible")
    return sure + rng.sample(open_to_choice, number - len(sure))


def _conditions(rng: random.Random, names: Sequence[str], setups: float, not_while: bool) -> tuple[Condition, ...]:
    drawn = []
    for name in names:
        low_in, high_in, low_out, high_out = MINUTES[name]
        flies = name == "flight"
        drawn.append(
            Condition(
                name,
                setups * rng.uniform(low_in, high_in),
                setups * rng.uniform(low_out, high_out),
                implies=_indices(names, "master") if flies else (),
                excludes=_indices(names, "jacks", "panel", "bay") if flies else (),
                not_while=_indices(names, "jacks") if name == "panel" and not_while else (),
            )
        )
    return tuple(drawn)


def _indices(names: Sequence[str], *wanted: str | None) -> tuple[int, ...]:
    return tuple(i for i, name in enumerate(names) if name in wanted)


def _at(rng: random.Random, names: Sequence[str], place: Place, at: float, master: float = 0.0) -> tuple[int, ...]:
    """The needs of work on a place: access to it with chance ``at``, the master switch with chance ``master``."""
    at_place = rng.random() < at
    on = rng.random() < master
    return _indices(names, place.condition if at_place else None, "master" if on else None)


# ------------------------------------------------------------------------------------------------- causes


def _places(rng: random.Random, faults: int) -> list[Place]:
    number = max(1, round(faults / 4))
    members: list[list[int]] = [[] for _ in range(number)]
    for f in range(faults):
        members[f if f < number else rng.randrange(number)].append(f)
    return [Place(tuple(group), rng.choice((None, "jacks", "panel", "bay"))) for group in members]


def _place_of(places: Sequence[Place], fault: int) -> Place:
    return next(place for place in places if fault in place.faults)


def _weights(rng: random.Random, places: Sequence[Place], faults: int) -> list[float]:
    raw = [0.0] * faults
    for place in places:
        common = rng.gammavariate(1.5, 1.0)
        for f in place.faults:
            raw[f] = common * rng.gammavariate(0.8, 1.0) + 0.002
    return [weight / sum(raw) for weight in raw]


def _log_uniform(rng: random.Random, low: float, high: float) -> float:
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def _fault(rng: random.Random, needs: tuple[int, ...], sleeping: bool) -> Fault:
    labour = _log_uniform(rng, 8, 120)
    part = 0.6 * _log_uniform(rng, 15, 600) if rng.random() < 0.6 else 0.0
    comes_and_goes = sleeping and rng.random() < 0.5
    return Fault(labour + part, needs, SHOWS if comes_and_goes else 1.0)


def _pairs(rng: random.Random, weights: Sequence[float]) -> dict[tuple[int, int], float]:
    every = [(a, b) for a in range(len(weights)) for b in range(a + 1, len(weights))]
    chosen = rng.sample(every, min(3, len(every)))
    total = sum(weights[a] * weights[b] for a, b in chosen)
    return {(a, b): PAIRS * weights[a] * weights[b] / total for a, b in chosen}


def _hypotheses(
    weights: Sequence[float], pairs: dict[tuple[int, int], float], faults: Sequence[Fault]
) -> tuple[Hypothesis, ...]:
    singles = 1.0 - UNLISTED - sum(pairs.values())
    listed = []
    for f, weight in enumerate(weights):
        asleep = SLEEPING_SHARE if faults[f].shows < 1.0 else 0.0
        listed.append(Hypothesis(frozenset({(f, False)}), singles * weight * (1.0 - asleep)))
        if asleep:
            listed.append(Hypothesis(frozenset({(f, True)}), singles * weight * asleep))
    listed += [Hypothesis(frozenset({(a, False), (b, False)}), weight) for (a, b), weight in pairs.items()]
    return tuple(listed)


# ------------------------------------------------------------------------------------------------- checks


def _checks(
    rng: random.Random, names: Sequence[str], places: Sequence[Place], number: int, perfect: bool, not_while: bool
) -> tuple[Check, ...]:
    functional = round(number / 5)
    splits = round(2 * number / 5)
    seen: set[frozenset[int]] = set()
    singles = [_single(rng, names, places, seen) for _ in range(number - functional - splits)]
    halves = [_half_split(rng, names, places, seen) for _ in range(splits)]
    whole = [_functional(rng, names, places, seen, singles, not_while) for _ in range(functional)]
    return tuple(_with_errors(rng, check, perfect) for check in (*singles, *halves, *whole))


def _with_errors(rng: random.Random, check: Check, perfect: bool) -> Check:
    if perfect:
        return check
    detects, specificity = rng.uniform(0.85, 0.99), rng.uniform(0.90, 0.995)
    return Check(check.minutes, check.looks_at, check.needs, detects, 1.0 - specificity, check.after)


def _fresh(rng: random.Random, seen: set[frozenset[int]], choices: Sequence[frozenset[int]]) -> frozenset[int]:
    """One of the choices, if possible one that no check looks at yet."""
    ordered = sorted(choices, key=sorted)
    chosen = rng.choice([choice for choice in ordered if choice not in seen] or ordered)
    seen.add(chosen)
    return chosen


def _single(rng: random.Random, names: Sequence[str], places: Sequence[Place], seen: set[frozenset[int]]) -> Check:
    looks_at = _fresh(rng, seen, [frozenset({f}) for place in places for f in place.faults])
    place = _place_of(places, min(looks_at))
    return Check(rng.uniform(3, 25), looks_at, _at(rng, names, place, 1.0, master=0.3))


def _half_split(rng: random.Random, names: Sequence[str], places: Sequence[Place], seen: set[frozenset[int]]) -> Check:
    """A look at a run of a subsystem: at least two faults of it, not all, where it has three or more."""
    place = rng.choice([place for place in places if len(place.faults) > 2] or places)
    size = len(place.faults)
    longest, shortest = (size - 1, 2) if size > 2 else (size, 1)
    runs = [
        frozenset(place.faults[start : start + length])
        for length in range(shortest, longest + 1)
        for start in range(size - length + 1)
    ]
    return Check(rng.uniform(3, 12), _fresh(rng, seen, runs), _at(rng, names, place, 1.0, master=0.5))


def _functional(
    rng: random.Random,
    names: Sequence[str],
    places: Sequence[Place],
    seen: set[frozenset[int]],
    singles: Sequence[Check],
    not_while: bool,
) -> Check:
    """A look at one or two whole subsystems at work."""
    groups = [place.faults for place in places]
    two = rng.random() < 0.5 and len(groups) > 1
    unions = [frozenset(a + b) for i, a in enumerate(groups) for b in groups[:i]] if two else [*map(frozenset, groups)]
    looks_at = _fresh(rng, seen, unions)
    flies = "flight" in names and rng.random() < 0.25
    open_panel = not_while and not flies and rng.random() < 0.5
    under_panel = any(place.condition == "panel" and looks_at.intersection(place.faults) for place in places)
    needs = _indices(names, "master", "flight" if flies else "jacks", "panel" if open_panel and under_panel else None)
    jacks = set(_indices(names, "jacks"))
    looks = [i for i, check in enumerate(singles) if not jacks.intersection(check.needs)]
    look_first = not flies and bool(jacks) and rng.random() < 0.5 and bool(looks)
    after = (min(looks, key=lambda i: singles[i].minutes),) if look_first else ()
    return Check(rng.uniform(2, 20), looks_at, needs, after=after)
