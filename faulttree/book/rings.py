"""Rings: things that name each other in a circle. Shown link by link, each ring once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

_SHOWN = 50


def in_order(graph: Mapping[str, Sequence[str]]) -> list[str] | None:
    """Every name after all that it names, or ``None`` if there is a ring."""
    users: dict[str, list[str]] = {}
    waits_for: dict[str, int] = {}
    for name, of in graph.items():
        waits_for[name] = len(of)
        users.setdefault(name, [])
        for other in of:
            users.setdefault(other, []).append(name)
    order = [name for name in users if not waits_for.get(name)]
    for name in order:  # which grows as it is gone through
        for user in users[name]:
            waits_for[user] -= 1
            if not waits_for[user]:
                order.append(user)
    return order if len(order) == len(users) else None


def rings(graph: Mapping[str, Sequence[str]]) -> list[list[str]]:
    """Rings of the graph (a name, and what it names), each as the list of its names, first not repeated.

    After each ring found one of its links is left out, so that further rings show.
    """
    if in_order(graph) is not None:
        return []
    left = {name: list(of) for name, of in graph.items()}
    found: list[list[str]] = []
    while len(found) < _SHOWN:
        try:
            TopologicalSorter(left).prepare()
        except CycleError as error:
            # each node of the list is named by the next one; the first is repeated at the end
            ring = list(reversed(error.args[1]))
            found.append(ring[:-1])
            left[ring[0]].remove(ring[1])
        else:
            break
    return found


def shown(ring: Sequence[str]) -> str:
    """A ring in words, from its first name in the alphabet: ``a -> b -> a``."""
    kept = [name for index, name in enumerate(ring) if name != ring[index - 1] or len(set(ring)) == 1]
    kept = kept[:1] if len(set(kept)) == 1 else kept
    first = kept.index(min(kept))
    turned = [*kept[first:], *kept[:first]]
    return " -> ".join([*turned, turned[0]])
