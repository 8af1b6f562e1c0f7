"""The steps of a plan by number, each leading on to later ones: a graph without rings."""

from __future__ import annotations

from dataclasses import dataclass, field

from faulttree.workshop.ways import Step

END, HELP = -1, 0
"""Where a passed proof leads, and the number of the step that calls for help."""

Edge = tuple[int, int]
START: Edge = (-1, 0)


@dataclass
class Node:
    """A step and where it leads: by outcome for a check; for a repair to the end and, the proof failed, elsewhere."""

    step: Step
    to: list[int] = field(default_factory=list)


class Graph:
    """Steps by number; ``root`` is the first. Step 0 calls for help."""

    def __init__(self) -> None:
        self.nodes: dict[int, Node] = {HELP: Node(Step("help"))}
        self.root = HELP
        self._next = 1
        self._order: list[int] | None = None
        self._reach: dict[int, int] = {}
        self._minds: dict[int, bool] = {}

    def add(self, step: Step, to: list[int]) -> int:
        """A new step; its number."""
        number, self._next = self._next, self._next + 1
        self.nodes[number], self._order = Node(step, to), None
        return number

    def lead(self, edge: Edge, to: int) -> None:
        """Let an edge lead to a step."""
        if self.target(edge) == to:
            return
        self._touched(edge)
        if edge == START:
            self.root = to
        else:
            self.nodes[edge[0]].to[edge[1]] = to

    def alter(self, n: int, step: Step, to: list[int]) -> None:
        """Let a step be another one."""
        self._touched((n, 0))
        self.nodes[n] = Node(step, to)

    def target(self, edge: Edge) -> int:
        """Where an edge leads."""
        return self.root if edge == START else self.nodes[edge[0]].to[edge[1]]

    def order(self) -> list[int]:
        """The steps that can be reached, each after all that lead to it."""
        if self._order is not None:
            return self._order
        seen: set[int] = set()
        found: list[int] = []

        def visit(n: int) -> None:
            seen.add(n)
            for t in self.nodes[n].to:
                if t != END and t not in seen:
                    visit(t)
            found.append(n)

        visit(self.root)
        self._order = found[::-1]
        return self._order

    def forget_from(self, number: int) -> None:
        """Forget all steps from a number on, to which no other leads; their numbers are given anew."""
        for n in range(number, self._next):
            if self.nodes.pop(n, None) is not None:
                self._reach.pop(n, None)
                self.changed(n)
        self._next, self._order = min(number, self._next), None

    @property
    def unused(self) -> int:
        """The number that the next new step will have."""
        return self._next

    def drop_unreached(self) -> None:
        """Forget steps to which nothing leads any more."""
        kept = {*self.order(), HELP}
        for n in [n for n in self.nodes if n not in kept]:
            del self.nodes[n]
            self._reach.pop(n, None)
            self.changed(n)

    def copied(self) -> dict[int, Node]:
        """The steps as they are now, to go back to by ``restore``."""
        return {n: Node(node.step, list(node.to)) for n, node in self.nodes.items()}

    def restore(self, nodes: dict[int, Node], root: int) -> None:
        """Back to steps that were copied before."""
        self.nodes, self.root = {n: Node(node.step, list(node.to)) for n, node in nodes.items()}, root
        self._reach, self._order, self._next = {}, None, max(nodes) + 1

    def _touched(self, edge: Edge) -> None:
        """Before an edge is changed: what rests on it no longer holds."""
        self._order = None
        if edge != START:
            bit = 1 << edge[0]
            for n in [n for n, reached in self._reach.items() if reached & bit]:
                del self._reach[n]
                self.changed(n)

    def changed(self, n: int) -> None:
        """Told of each step that is gone, or from which on something is no longer as it was."""

    def reach(self, n: int) -> int:
        """The steps that can be reached from one, itself included, as bits by number."""
        found = self._reach.get(n)
        if found is None:
            found, minds = 1 << n, self.nodes[n].step.legged
            for t in self.nodes[n].to:
                if t != END:
                    found |= self.reach(t)
                    minds = minds or self._minds[t]
            self._reach[n], self._minds[n] = found, minds
        return found

    def minds_leg(self, n: int) -> bool:
        """Whether there is a step for the noted leg among those from one on."""
        self.reach(n)
        return self._minds[n]
