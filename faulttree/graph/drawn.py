"""A symptom's fault tree as it is drawn: gates, basic events, what is not developed, and transfers.

The book is a graph in which events are shared; a drawing is a tree. What two gates look at is drawn below the first
of them, and a transfer symbol stands for it below every other (NUREG-0492, chapter IV; IEC 61025).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from string import ascii_uppercase

import networkx as nx

from faulttree.book.model import Book, Event
from faulttree.errors import UnknownName
from faulttree.graph.gates import Gates

UNLISTED = "A cause that the book does not list"

GATE, BASIC, UNDEVELOPED, TRANSFER = "gate", "basic", "undeveloped", "transfer"


@dataclass(frozen=True, slots=True)
class Node:
    """One symbol of the drawing with what hangs below it.

    ``kind`` is ``gate`` (an event with what it rests on), ``basic`` (a fault), ``undeveloped`` (not followed further)
    or ``transfer`` (drawn elsewhere, below the gate with the same ``mark``). ``gate`` and ``count`` are those of the
    book's event. ``mark`` stands in the symbol: the number of a fault, the letter of a transfer, else "".
    """

    id: str
    name: str
    kind: str
    gate: str = ""
    count: int = 0
    mark: str = ""
    below: tuple[Node, ...] = ()

    def walk(self) -> Iterator[Node]:
        """This node and all below it, in the order in which they are drawn."""
        yield self
        for node in self.below:
            yield from node.walk()


def drawn(book: Book, symptom: str, depth: int | None = None) -> Node:
    """The tree of a symptom. Gates deeper than ``depth`` (the symptom's own is 1) are left undeveloped.

    Faults are numbered in the order in which they are met; one that several gates look at keeps its number. An event
    that only repeats another, or only continues its chain, is not drawn. Raises UnknownName.
    """
    if symptom not in book.symptoms:
        raise UnknownName(f"the {book.family} book has no symptom {symptom!r}")
    top = book.symptoms[symptom]
    tree = _Drawing(book, top.when, depth)
    root = tree.top(top.when)
    more = (Node("", UNLISTED, UNDEVELOPED),) if top.unlisted > 0 else ()
    if root.kind == GATE and root.gate == "any_of" and root.id not in tree.referred:
        below, gate = (*root.below, *more), "any_of"
    elif root.kind == GATE and not more and root.id not in tree.referred:
        return _marked(replace(root, id=symptom, name=top.name))
    else:
        below, gate = (root, *more), "any_of"
    return _marked(Node(symptom, top.name, GATE, gate, below=below))


class _Drawing:
    """Unfolds the graph below one event; ``referred`` are the events that a transfer stands for somewhere."""

    def __init__(self, book: Book, top: str, depth: int | None) -> None:
        self._book, self._depth, self._gates = book, depth, Gates(book)
        self._shared = _shared(self._plain_graph(top))
        self._done: set[str] = set()
        self.referred: set[str] = set()

    def top(self, name: str) -> Node:
        return self._node(self._real(name), 1)

    def _real(self, name: str) -> str:
        """What an event that only repeats another stands for."""
        while name in self._book.events:
            event = self._book.events[name]
            if event.gate != "any_of" or len(event.of) != 1:
                break
            name = event.of[0]
        return name

    def _parts(self, event: Event) -> list[str]:
        """What an event looks at, each once; an empty event among alternatives never holds and is not told."""
        parts = dict.fromkeys(self._real(part) for part in event.of)
        if event.gate != "any_of":
            return [self._real(part) for part in event.of]
        return [part for part in parts if part in self._book.faults or self._book.events[part].of]

    def _plain_graph(self, top: str) -> nx.DiGraph:
        graph = nx.DiGraph()
        graph.add_node(self._real(top))
        for name in self._gates.events_at([top]):
            if self._real(name) == name:
                graph.add_edges_from((part, name) for part in self._parts(self._book.events[name]))
        return graph.subgraph({self._real(top), *nx.ancestors(graph, self._real(top))})

    def _node(self, name: str, depth: int) -> Node:
        if name in self._book.faults:
            return Node(name, self._book.faults[name].name, BASIC)
        event = self._book.events[name]
        if not event.of:
            return Node(name, f"{event.name}: nothing of it is fitted", UNDEVELOPED)
        if self._depth is not None and depth > self._depth:
            faults = len(self._gates.below(name))
            return Node(name, f"{event.name}: {faults} fault{'s' * (faults != 1)} below", UNDEVELOPED)
        if name in self._done:
            self.referred.add(name)
            return Node(name, event.name, TRANSFER)
        self._done.add(name)
        below = [self._node(part, depth + 1) for part in self._flat(event)]
        below.sort(key=lambda node: node.kind == GATE)
        return Node(name, event.name, GATE, event.gate, event.count, below=tuple(below))

    def _flat(self, event: Event) -> list[str]:
        """What hangs on a gate: of its own chain, or of another word for it, all that lies before too."""
        found: list[str] = []
        for part in self._parts(event):
            inner = self._book.events.get(part)
            same = inner is not None and part not in self._shared and inner.gate == event.gate == "any_of"
            if same and inner is not None and (_chain(part) == _chain(event.id) or inner.name == event.name):
                found += self._flat(inner)
            else:
                found.append(part)
        return list(dict.fromkeys(found)) if event.gate == "any_of" else found


def _chain(name: str) -> str:
    return name.split("@")[0]


def _shared(graph: nx.DiGraph) -> set[str]:
    """Nodes that several gates look at."""
    return {node for node, users in graph.out_degree() if users > 1}


def _marked(root: Node) -> Node:
    """Numbers for the faults, letters for what transfers refer to."""
    numbers: dict[str, str] = {}
    letters: dict[str, str] = {}
    for node in root.walk():
        if node.kind == BASIC:
            numbers.setdefault(node.id, str(len(numbers) + 1))
    referred = {node.id for node in root.walk() if node.kind == TRANSFER}
    for node in root.walk():
        if node.id in referred:
            letters.setdefault(node.id, letter(len(letters)))
    return _with_marks(root, {BASIC: numbers, TRANSFER: letters, GATE: letters})


def letter(place: int) -> str:
    """The mark of a transfer: A to Z, then AA, AB …"""
    before, last = divmod(place, len(ascii_uppercase))
    return (letter(before - 1) if before else "") + ascii_uppercase[last]


def _with_marks(node: Node, marks: Mapping[str, Mapping[str, str]]) -> Node:
    below = tuple(_with_marks(one, marks) for one in node.below)
    return replace(node, mark=marks.get(node.kind, {}).get(node.id, ""), below=below)
