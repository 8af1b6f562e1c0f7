"""Two books held against each other, as text of eighty columns."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator
from typing import Any

from faulttree.clean import plain
from faulttree.workshop.comparing import Comparison, EntryChange, OrderChange, Shares

WIDTH = 78
LONGEST = 34
SIGNS = {"added": "+", "amended": "~", "retired": "-", "missing": "-"}


def told(found: Comparison) -> list[str]:
    """The entries, then the symptoms whose first causes change, then the cases that move."""
    counts = Counter(change.what for change in found.entries)
    how = ", ".join(f"{counts[what]} {what}" for what in SIGNS if what != "missing" or counts[what])
    lines = [f"{found.family}: {how}"]
    for change in found.entries:
        lines += _wrapped(_entry(change), "  ", "      ")
    if found.unread:
        wrong = "1 thing is wrong with its cases" if found.unread == 1 else f"{found.unread} are wrong with its cases"
        lines += _wrapped(f"{wrong}, which are left out; `faulttree knowledge check` tells", "  ", "  ")
    if found.same:
        return [plain(line) for line in (*lines, "", "the book itself is the same, and so is all advice")]
    lines += ["", f"symptoms whose first causes change in order or share: {len(found.symptoms) or 'none'}"]
    for symptom in found.symptoms:
        lines += _order(symptom)
    lines += ["", f"cases that move: {len(found.cases) or 'none'} of {found.worked} that both have"]
    for case in found.cases:
        lines += _order(case)
        lines += [line for miss in case.misses if miss not in case.missed for line in _missed("now misses", miss)]
        lines += [line for miss in case.missed if miss not in case.misses for line in _missed("missed before", miss)]
    return [plain(line) for line in lines]


def _wrapped(text: str, first: str, further: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=further, break_on_hyphens=False, break_long_words=True
    )


def _entry(change: EntryChange) -> str:
    said = f"{SIGNS[change.what]} {change.section} {change.id}"
    if change.what == "missing":
        return f"{said}: only the first has it"
    if change.reason and not change.fields:
        return f"{said}: {change.reason}"
    fields = "; ".join(f"{name} {_change(was, now)}" for name, (was, now) in change.fields.items())
    why = f" ({change.reason})" if change.reason else ""
    return f"{said}: {fields}{why}" if fields else said


def _change(was: Any, now: Any) -> str:
    """What is other: of lists and mappings what came and went, of long texts the place where they part."""
    if isinstance(was, str) and isinstance(now, str) and max(len(was), len(now)) > LONGEST:
        return _texts(was, now)
    if _parts(was) and _parts(now) and len(was) == len(now):
        unlike = [(n, *pair) for n, pair in enumerate(zip(was, now, strict=True), 1) if pair[0] != pair[1]]
        return ", ".join(f"no. {n} {_change(one, other)}" for n, one, other in unlike)
    if (_is_list(was) or _parts(was)) and (_is_list(now) or _parts(now)):
        came = [f"+{_value(one)}" for one in now if one not in was]
        went = [f"−{_value(one)}" for one in was if one not in now]
        return ", ".join([*went, *came]) or f"in another order: {', '.join(map(_value, now))}"
    old, new = _mapping(was), _mapping(now)
    if old is not None and new is not None:
        differ = [key for key in {**old, **new} if old.get(key) != new.get(key)]
        return ", ".join(f"{key} {_change(old.get(key), new.get(key))}" for key in differ)
    return f"{_value(was)} → {_value(now)}"


def _texts(was: str, now: str) -> str:
    """Two texts from the word on in which they part."""
    alike = next((i for i, (one, other) in enumerate(zip(was, now, strict=False)) if one != other), len(was))
    start = was.rfind(" ", 0, alike) + 1
    lead = "…" if start else ""
    return f"{_cut(lead + was[start:])} → {_cut(lead + now[start:])}"


def _is_list(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, (str, int, float)) for one in value)


def _parts(value: Any) -> bool:
    """Whether it is a list of mappings, as the elements of a chain are."""
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def _mapping(value: Any) -> dict[str, Any] | None:
    """A mapping, also one that is written as pairs to keep its order; None for anything else."""
    if isinstance(value, dict):
        return value
    pairs = isinstance(value, list) and all(isinstance(one, list) and len(one) == 2 for one in value)
    return dict(value) if pairs and all(isinstance(one[0], str) for one in value) else None


def _value(value: Any) -> str:
    """A value as it would be written, cut short."""
    if value is None:
        return "(not stated)"
    if isinstance(value, list) and value and all(isinstance(one, list) and len(one) == 2 for one in value):
        text = "{" + ", ".join(f"{name}: {_value(inner)}" for name, inner in value) + "}"
    elif isinstance(value, list):
        text = "[" + ", ".join(_value(one) for one in value) + "]"
    elif isinstance(value, dict):
        text = "{" + ", ".join(f"{name}: {_value(inner)}" for name, inner in value.items()) + "}"
    else:
        text = str(value).lower() if isinstance(value, bool) else str(value)
    return _cut(text)


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


def _order(change: OrderChange) -> Iterator[str]:
    yield from _wrapped(f"{change.id}: {change.name}", "  ", "      ")
    yield from _wrapped(_shares(change.before), "      before  ", "              ")
    how = "" if change.reordered else " (same order)"
    yield from _wrapped(f"{_shares(change.after)}{how}", "      after   ", "              ")


def _shares(shares: Shares) -> str:
    return ", ".join(f"{component} {share:.0%}" for component, share in shares) or "none"


def _missed(word: str, miss: str) -> list[str]:
    return _wrapped(f"{word}: {miss}", "      ", "        ")
