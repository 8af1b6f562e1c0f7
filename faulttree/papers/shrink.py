"""A handover sheet cut to one page: what matters least goes first, and what was cut is said on the sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from faulttree.papers.page import one_line


@dataclass(frozen=True, slots=True)
class _Room:
    """Most pieces of a list and most signs of a piece; most signs of the name of a cause."""

    squawk: int
    standing: tuple[int, int]
    touch: tuple[int, int]
    open_items: tuple[int, int]
    following: tuple[int, int]
    lately: tuple[int, int]
    notes: tuple[int, int]
    cause: int = 80


_ROOMS = (
    _Room(400, (12, 600), (10, 600), (12, 260), (3, 200), (6, 200), (3, 500), 200),
    _Room(300, (12, 600), (8, 600), (9, 200), (3, 160), (5, 150), (3, 240), 160),
    _Room(240, (12, 480), (7, 480), (7, 150), (3, 120), (3, 110), (2, 160), 120),
    _Room(180, (12, 320), (6, 360), (4, 110), (2, 100), (4, 90), (2, 110)),
    _Room(140, (12, 100), (5, 300), (3, 90), (1, 80), (3, 90), (1, 110)),
)
"""From generous to tight. What stands and what must not be touched is cut last; the last note and what was done last
stay, since what is left open mostly stands there already."""

MORE = "(More: the book and the record.)"

_LINE = 92  # signs in a line of the sheet, for the estimate
_PAGE_LINES = 62
_SMALLER, _LARGER = 0.9, 1.12
_NARROWS = 0.77  # smaller type also has more signs in a line


def versions(paper: Mapping[str, Any]) -> list[dict[str, Any]]:
    """``paper`` (a handover sheet, cleaned) ever more tightly cut; ``shortened`` says whether anything is missing."""
    return [_cut_to(paper, room) for room in _ROOMS]


def likely_fit(tries: list[dict[str, Any]]) -> tuple[dict[str, Any], float]:
    """The fullest of ``versions`` that by a count of its lines fits a page in type not much smaller, or the tightest;
    and what to multiply the size of the type with so that it fits. (A browser cannot be asked.)"""
    sizes = [min(_LARGER, (_PAGE_LINES / _lines(each)) ** _NARROWS) for each in tries]
    chosen = next((i for i, size in enumerate(sizes) if size >= _SMALLER), len(tries) - 1)
    return tries[chosen], round(sizes[chosen], 3)


def _cut_to(paper: Mapping[str, Any], room: _Room) -> dict[str, Any]:
    now = paper["now"]
    step = now["step"] and {key: one_line(now["step"][key], 120) for key in ("name", "where")}
    out = dict(paper) | {
        "squawk": one_line(paper["squawk"], room.squawk),
        "state": {key: one_line(value, 160) for key, value in paper["state"].items()},
        "now": dict(now) | {"standing": _standing(now["standing"], room.standing), "step": step},
        "do_not_touch": [whole_sentences(text, room.touch[1]) for text in paper["do_not_touch"][: room.touch[0]]],
        "open_items": _texts(paper["open_items"], room.open_items),
        "next": _named(paper["next"], room.following, ("name",)),
        "not_known": one_line(paper["not_known"], 320),
        "settled": one_line(paper["settled"], 400),
        "top_causes": _named(paper["top_causes"], (3, room.cause), ("name",)),
        "lately": _texts(paper["lately"][-room.lately[0] :], room.lately),
        "notes": _named(paper["notes"][-room.notes[0] :], room.notes, ("text", "who")) if room.notes[0] else [],
        "standing_cautions": _named(paper["standing_cautions"], (6, 260), ("text",)),
    }
    out["gear"] = _gear(paper["gear"])
    for item in out["next"]:
        item["equipment"] = _texts(item["equipment"], (6, 60))
    return out | {"more": _more(paper, out), "shortened": _shortened(paper, out)}


def _gear(gear: Mapping[str, Any]) -> dict[str, Any]:
    """What was stated of the gear; what is only assumed of it is in the record."""
    profile, stated = gear["profile"], [item for item in gear["fitted"] if not item["assumed"]]
    return dict(gear) | {
        "name": one_line(gear["name"], 60),
        "voltage": one_line(gear["voltage"], 20),
        "fitted": _named(stated, (8, 48), ("name",)),
        "profile": profile and dict(profile) | {"name": one_line(profile["name"], 48)},
    }


def _standing(items: list[dict[str, Any]], room: tuple[int, int]) -> list[dict[str, Any]]:
    return [
        item | {"name": one_line(item["name"], 120), "restore": whole_sentences(item["restore"], room[1])}
        for item in items[: room[0]]
    ]


def whole_sentences(text: str, most: int) -> str:
    """As many whole sentences of an instruction as fit ``most`` signs, and that there is more: half a sentence of how
    to lower an aircraft is worse than none."""
    line = " ".join(text.split())
    if len(line) <= most:
        return line
    kept, room = "", most - len(MORE) - 1
    for sentence in re.split(r"(?<=[.!?]) ", line):
        if len(kept) + len(sentence) + 1 > room:
            break
        kept += f"{sentence} "
    return kept + MORE


def _texts(texts: list[str], room: tuple[int, int]) -> list[str]:
    return [one_line(text, room[1]) for text in texts[: room[0]]]


def _named(items: list[dict[str, Any]], room: tuple[int, int], keys: tuple[str, ...]) -> list[dict[str, Any]]:
    return [item | {key: one_line(item[key], room[1]) for key in keys} for item in items[: room[0]]]


def _more(paper: Mapping[str, Any], out: Mapping[str, Any]) -> dict[str, int]:
    """How many pieces of each list are left out."""
    lists = ("do_not_touch", "open_items", "next", "lately", "notes")
    left_out = {key: len(paper[key]) - len(out[key]) for key in lists}
    return left_out | {"standing": len(paper["now"]["standing"]) - len(out["now"]["standing"])}


def _shortened(paper: Mapping[str, Any], out: Mapping[str, Any]) -> bool:
    """Whether any word is missing; a text that only lost its line breaks is whole."""
    keys = ("squawk", "now", "do_not_touch", "open_items", "next", "top_causes", "lately", "notes", "state")
    return any(_words(paper[key]) != _words(out[key]) for key in keys)


def _words(value: Any) -> Any:
    if isinstance(value, str):
        return value.split()
    if isinstance(value, Mapping):
        return {key: _words(each) for key, each in value.items()}
    return [_words(each) for each in value] if isinstance(value, list) else value


def _lines(paper: Mapping[str, Any]) -> int:
    """Lines that the sheet takes, roughly; the two columns of open and next count as one of their longer."""
    standing = sum(3 + _rows(item["restore"]) for item in paper["now"]["standing"])
    touch = sum(1.3 * _rows(text, 80) for text in paper["do_not_touch"])
    half = _LINE // 2
    beside = max(
        sum(1.2 * _rows(text, half) for text in [*paper["open_items"], "and more"]),
        sum(1 + _rows(item["name"], half) + _rows(", ".join(item["equipment"]), half) for item in paper["next"]),
    )
    causes = 2 + sum(_rows(cause["name"], half - 12) for cause in paper["top_causes"])
    below = max(5, causes, sum(_rows(text, half + 6) for text in paper["lately"]))
    notes = sum(_rows(note["text"]) for note in paper["notes"])
    return math.ceil(27 + _rows(paper["squawk"]) + standing + touch + beside + below + notes)


def _rows(text: str, wide: int = _LINE) -> int:
    return math.ceil(len(text) / wide)
