"""Checks after a repair on a go-to chart, in words: told once, and named by a mark or by the step that tells them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from faulttree.papers.chartmoves import Data, marks_only

FEWEST = 3
"""Checks that are looked at again together from which, where several repairs want the same, they are told once."""


def _places(chart: Data) -> dict[str, str]:
    """Where a check after a repair is told: at a step that is the same check, else at the end by a mark."""
    steps = {
        step["id"]: f"as in {step['number']}" for step in reversed(chart["steps"]) if step["kind"] in ("ask", "check")
    }
    alone = [p["id"] for p in chart["proving"] if p["id"] not in steps]
    return steps | {name: f"P{i}" for i, name in enumerate(alone, 1)}


class Stops:
    """How a chart tells what a finding speaks against: by mark, and by name too the first time."""

    def __init__(self, chart: Data) -> None:
        self._marks = {c["name"]: f"S{i}" for i, c in enumerate(chart["set_ups"], 1)}
        self._named = set[str]()

    def told(self, names: Sequence[str]) -> str:
        """The words of a STOP."""
        new = [name for name in names if name not in self._named]
        self._named.update(new)
        said = ", ".join(self._said(name, name in new) for name in names)
        return f"STOP, until it shows well again: no {said}." if new else f"STOP: no {said}."

    def _said(self, name: str, new: bool) -> str:
        mark = self._marks.get(name)
        return name if mark is None else f"{mark} {name}" if new else mark


@dataclass(frozen=True)
class Marks:
    """How a chart names checks after a repair and set-ups, by id; and what is looked at again, by what that is."""

    places: Mapping[str, str]
    sets: Mapping[str, str]
    again: Mapping[str, str]
    stops: Stops


def marks_of(chart: Data) -> Marks:
    """The marks of a chart: what several repairs want looked at again where a finding stops their proof gets one."""
    sets = {c["id"]: f"S{i}" for i, c in enumerate(chart["set_ups"], 1)}
    found = Marks(_places(chart), sets, {}, Stops(chart))
    wanted = Counter(_looked_at_again(step["due"], found) for step in chart["steps"] if not step["looks_back"])
    several = [checks for checks, times in wanted.items() if times > 1 and checks.count(",") >= FEWEST - 1]
    return replace(found, again={checks: f"R{i}" for i, checks in enumerate(several, 1)})


def due_after(due: Sequence[Data], marks: Marks) -> list[dict[str, Any]]:
    """What comes after a repair; what is looked at again only where a finding stops that, together and first."""
    again = _looked_at_again(due, marks)
    first = [{"place": f"if stopped: {marks.again.get(again, again)}", "moves": []}] if again else []
    rest = [{"place": marks.places[d["id"]], "moves": marks_only(d["moves"], marks.sets)}
            for d in due if not d["if_stopped"]]  # fmt: skip
    return [*first, *rest]


def _looked_at_again(due: Sequence[Data], marks: Marks) -> str:
    told = []
    for place, moves in ((marks.places[d["id"]], marks_only(d["moves"], marks.sets)) for d in due if d["if_stopped"]):
        told.append(place.removeprefix("as in ") + (f" ({' '.join(moves)})" if moves else ""))
    return ", ".join(told)


def provings(checks: Sequence[Data], marks: Marks) -> list[dict[str, Any]]:
    """Checks after a repair that no step tells. What a step tells for another leg, or one before, is not told again."""
    found, places = [], marks.places
    for check in checks:
        place, there = places[check["id"]], check["as_in"]
        if place.startswith("P"):
            with_stop = ", with its STOP" if any(o["stops"] for o in check["outcomes"]) else ""
            as_there = f"As in {places.get(there, there)}{with_stop}."
            found.append(_proving(
                {**check, "how": [as_there], "ask": "", "outcomes": []} if there else check, place, marks.stops
            ))  # fmt: skip
    return found


def _proving(check: Data, place: str, stops: Stops) -> dict[str, Any]:
    people = f" · {check['people']} people" if check["people"] > 1 else ""
    bars = dict[tuple[str, ...], list[str]]()
    for o in check["outcomes"]:
        if o["stops"]:
            bars.setdefault(tuple(o["stops"]), []).append(o["label"])
    return {
        "place": place, "name": check["name"], "ask": check["ask"], "how": list(check["how"]),
        "about": f"{check['minutes']:.0f} min{people}", "good": check["good"], "proof": check["proof"],
        "stops": [f"{' · '.join(labels)}: {stops.told(barred)}" for barred, labels in bars.items()],
    }  # fmt: skip
