"""Whether what an entry needs can stand at all.

Conditions stand together with all they imply. They cannot if one of them excludes another, or if the
order in which they are to be set up runs in a circle: what a condition implies is set up before it, and a
condition that is set up only while another does not stand comes before that other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from faulttree.book.model import Condition
from faulttree.book.rings import rings, shown


def with_implied(needs: Iterable[str], conditions: Mapping[str, Condition]) -> tuple[str, ...]:
    """What is needed, with all it implies."""
    found: dict[str, None] = {}
    waiting = [name for name in needs if name in conditions]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found[name] = None
            waiting.extend(implied for implied in conditions[name].implies if implied in conditions)
    return tuple(name for name in conditions if name in found)


def why_never(needs: Iterable[str], conditions: Mapping[str, Condition]) -> str | None:
    """Why these needs can never stand together, in words; ``None`` if they can."""
    needs = tuple(needs)
    wanted = with_implied(needs, conditions)
    together = set(wanted)
    for name in wanted:
        barred = together.intersection(conditions[name].excludes)
        if barred:
            return _pair(name, next(other for other in wanted if other in barred), needs)
    circle = rings(_set_up_after(wanted, conditions))
    if circle:
        return f"their set-up runs in a circle: {shown(circle[0])}"
    return None


def _pair(name: str, other: str, needs: tuple[str, ...]) -> str:
    if name == other:
        return f"`{name}` excludes itself"
    brought = [each for each in (name, other) if each not in needs]
    why = f" ({' and '.join(f'`{each}`' for each in brought)} {'is' if len(brought) == 1 else 'are'} implied)"
    return f"`{name}` excludes `{other}`{why if brought else ''}"


def _set_up_after(wanted: tuple[str, ...], conditions: Mapping[str, Condition]) -> dict[str, list[str]]:
    """For each condition those that are set up before it."""
    before: dict[str, list[str]] = {name: [] for name in wanted}
    for name in wanted:
        before[name].extend(other for other in conditions[name].implies if other in before)
        for other in conditions[name].not_while:
            if other in before:
                before[other].append(name)
    return before
