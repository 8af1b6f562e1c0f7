"""What is set up and put back for the steps of a go-to chart, in words: by marks where an earlier step tells how."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

Data = Mapping[str, Any]


def moves(step: Data, sets: Mapping[str, str]) -> list[str]:
    """The ways to what a step needs, by marks where an earlier one tells how it is done."""
    if step["as_in"]:
        told = marks_only(step["moves"], sets, names=True)
        return [f"{words}." for words in told]
    return [words for way in step["moves"] for words in _way(way, sets, len(step["moves"]) > 1)]


def _way(way: Data, sets: Mapping[str, str], several: bool) -> list[str]:
    """One way to what a step needs. With several ways what has to stand for this one is named first."""
    told = [
        f"{'Set up' if ups else 'Put back'} {', '.join(_set(c, sets) if ups else _back(c, sets) for _, c in part)}."
        for ups, part in groupby(_in_turn(way), key=lambda move: move[0])
    ]  # fmt: skip
    if not told:
        return []
    words = " ".join(told)
    if several:
        words = f"{_standing(way, sets)}: {words}"
    return [words]


def _in_turn(way: Data) -> Iterator[tuple[bool, Data]]:
    """What is put back (False) and set up (True), one after the other: what is kept to the last right before what it
    speaks against."""
    kept = [c for c in reversed(way["put_back"]) if c["before"]]
    yield from ((False, c) for c in way["put_back"] if not c["before"])
    for one in way["set_up"]:
        yield from ((False, c) for c in kept if one["id"] in c["before"])
        kept = [c for c in kept if one["id"] not in c["before"]]
        yield True, one


def _back(condition: Data, sets: Mapping[str, str]) -> str:
    """What is put back, with what is moved where it is put back for that alone."""
    since = f" if {' or '.join(sets[c] for c in condition['since'])} is moved" if condition["since"] else ""
    return _set(condition, sets) + since


def _set(condition: Data, sets: Mapping[str, str]) -> str:
    """A set-up by its mark; a risky one by its name too."""
    return f"{sets[condition['id']]} {condition['name']}" if condition["hazard"] else sets[condition["id"]]


def marks_only(ways: Sequence[Data], sets: Mapping[str, str], names: bool = False) -> list[str]:
    """The ways before a check after a repair, by marks: –S1 is put back where it stands, +S2 is set up.

    ``names``: what is risky is named besides.
    """
    told = []
    for way in ways:
        marks = [
            f"+{_set(c, sets) if names else sets[c['id']]}" if ups else f"−{_back(c, sets)}" for ups, c in _in_turn(way)
        ]
        if marks:
            start = f"{_standing(way, sets)}: " if len(ways) > 1 else ""
            told.append(start + " ".join(marks))
    return told


def _standing(way: Data, sets: Mapping[str, str]) -> str:
    """For which standings a way is: by what stands or does not, else each by the marks of all that stands.

    What is used nowhere in the chart never stands.
    """
    if way["where"]:
        asked = [f"{sets[one['id']]} {'stands' if one['stands'] else 'does not'}" for one in way["where"]]
        return f"If {' and '.join(asked)}"
    return "Standing " + " or ".join(" ".join(sets[name] for name in names) or "nothing" for names in way["from"])


def kept_until(kept_for: Sequence[str], sets: Mapping[str, str]) -> str:
    """When something is put back that stays as long as it can."""
    return f"only right before {' or '.join(sets[name] for name in kept_for)}. " if kept_for else ""
