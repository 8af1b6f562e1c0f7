"""Whether the data of an entry have what its kind has to hold: a log may come from anywhere.

Looked at before a log is taken in; names of the book are looked up where it is added up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from faulttree.case.entries import CaseEntry

Fits = Callable[[Any], bool]


def _text(value: Any) -> bool:
    return isinstance(value, str)


def _truth(value: Any) -> bool:
    return isinstance(value, bool)


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _number(value: Any) -> bool:
    return (
        isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e300 and math.isfinite(value)
    )


def _hours(value: Any) -> bool:
    return value is None or _number(value)


def _people(value: Any) -> bool:
    return value is None or _whole(value)


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(map(_text, value))


def _wholes(value: Any) -> bool:
    return isinstance(value, list) and all(map(_whole, value))


def _numbers(value: Any) -> bool:
    return isinstance(value, list) and all(map(_number, value))


def _limits(value: Any) -> bool:
    wanted = {"value": _number, "unit": _text, "reference": _text}
    return isinstance(value, Mapping) and all(isinstance(one, Mapping) and _has(one, wanted) for one in value.values())


_WANTED: dict[str, dict[str, Fits]] = {
    "opened": {"family": _text, "fitted": _texts, "digest": _text},
    "knowledge": {"version": _text, "digest": _text, "overlays": _texts, "unconfirmed": _wholes},
    "squawk": {"text": _text}, "found-other": {"text": _text}, "did-other": {"text": _text}, "note": {"text": _text},
    "cause-in-words": {"text": _text}, "symptom": {"symptom": _text, "present": _truth},
    "symptom-untold": {"symptom": _text}, "circumstance": {"circumstances": _texts}, "hours": {"hours": _hours},
    "opening": {"question": _text, "answer": _text}, "started": {"kind": _text, "id": _text},
    "cautions": {"cautions": _texts}, "set-up": {"condition": _text}, "restored": {"condition": _text},
    "found-standing": {"standing": _texts}, "limit": {"limit": _text, "value": _number, "unit": _text,
    "reference": _text}, "instrument": {"name": _text, "calibrated": _text},
    "answer": {"check": _text, "outcome": _text},
    "reading": {"check": _text, "value": _number, "unit": _text, "weights": _numbers},
    "skipped": {"check": _text}, "found": {"fault": _text}, "did": {"action": _text}, "cause": {"fault": _text},
    "left-open": {"reason": _text}, "archived": {"archived": _truth}, "undone": {"entry": _whole},
    "confirmed": {"entry": _whole, "counts": _truth},
}  # fmt: skip
"""What every entry of a kind has. A kind that is not here has nothing that it needs, or is not known."""

_ALSO: dict[str, dict[str, Fits]] = {
    "knowledge": {"overlay_digests": _texts},
    "opened": {"job": _text, "overlays": _texts, "overlay_digests": _texts, "assumed": _texts, "voltage": _text,
               "limits": _limits, "version": _text},
    "answer": {"sure": _truth}, "at-hand": {"people": _people, "lacking": _texts}, "started": {"also": _texts},
    "hours": {"assumed": _truth}, "instrument": {"unit": _text}, "skipped": {"reason": _text, "why": _text},
    "reading": {"limit": _number, "limit_id": _text, "reference": _text, "instrument": _text, "calibrated": _text,
                "typed": _text},
}  # fmt: skip
"""What it may have besides."""


def misfit(entries: Sequence[CaseEntry]) -> str:
    """The first entry that lacks something, or has it of the wrong kind, in words; "" where there is none."""
    for entry in entries:
        also = {key: fits for key, fits in _ALSO.get(entry.kind, {}).items() if key in entry.data}
        wrong = _wrong(entry.data, {**_WANTED.get(entry.kind, {}), **also})
        if wrong:
            return f"entry {entry.number} ({entry.kind}) has no {wrong[0]!r} that could be used"
    return ""


def _wrong(data: Mapping[str, Any], wanted: Mapping[str, Fits]) -> list[str]:
    return [key for key, fits in wanted.items() if key not in data or not fits(data[key])]


def _has(data: Mapping[str, Any], wanted: Mapping[str, Fits]) -> bool:
    return not _wrong(data, wanted)
