"""What a plan comes to when each change of it is tried on the whole: ways led elsewhere, and steps taken out.

``Gardener`` changes many at a time by what they seem to save, with what is usually remembered. Where a plan is as good
as it gets that makes it worse again.
"""

from __future__ import annotations

from faulttree.workshop.flows import Flow
from faulttree.workshop.graph import END, Edge
from faulttree.workshop.options import LEAST_GAIN
from faulttree.workshop.planning import Gardener, Told, past_of

WEEDED = 4
"""Steps that seem of least use for their lines, each tried without on the whole before one is taken out."""


class Weeder:
    """Betters a plan that is grown, one change after another."""

    def __init__(self, gardener: Gardener) -> None:
        self.gardener, self.plan = gardener, gardener.plan

    def lead_anew(self) -> None:
        """Every edge to the later step that is best for what comes along it, where the whole bears that out."""
        plan = self.plan
        worth, edges = self._looked_over()
        for n in reversed(plan.order()):
            for o in range(len(plan.nodes[n].to) if n in plan.nodes else 0):
                flow, to = edges.get((n, o)), self._better((n, o), edges)
                if flow and to is not None:
                    kept = plan.kept()
                    plan.lead((n, o), to)
                    now, found = self._looked_over()
                    if now < worth - LEAST_GAIN / 2:
                        worth, edges = now, found
                    else:
                        plan.restore(*kept)

    def _better(self, edge: Edge, edges: dict[Edge, Flow]) -> int | None:
        """A later step that seems better for what comes along an edge; None where there is none."""
        plan, to, flow = self.plan, self.plan.target(edge), edges.get(edge)
        if to == END or not flow:
            return None
        past = past_of(plan, edge, plan.behind())
        worth, best = self.gardener.options.best(flow, past, self.gardener.later(edge))
        return best if best != to and worth < plan.worth(flow, to) - LEAST_GAIN else None

    def weed(self, room: float, steps: int | None = None, told: Told = lambda words: None) -> None:
        """Take out what saves least for its lines, one step after another, until the rest takes no more than so many.

        And are no more than so many ``steps``.
        """
        plan, gardener = self.plan, self.gardener
        worth, edges = self._looked_over()
        while len(lines := gardener.room.lines()) > 1 and gardener.over(lines, room, steps) > 0:
            taken, best, dearest = sum(lines.values()), None, float("inf")
            for n in gardener.least_useful(lines, edges)[:WEEDED]:
                kept = plan.kept()
                gardener.take_out(n, edges)
                now, found = self._looked_over()
                per_line = (now - worth) / max(taken - gardener.room.taken(), 0.1)
                if per_line < dearest:
                    best, dearest = (plan.kept(), now, found), per_line
                plan.restore(*kept)
            if best is None:
                break
            plan.restore(*best[0])
            worth, edges = best[1], best[2]
            told(f"{len(plan.nodes)} steps")

    def _looked_over(self) -> tuple[float, dict[Edge, Flow]]:
        """What the whole costs, and what comes along each edge."""
        self.plan.drop_unreached()
        _, edges, worth = self.plan.looked_over()
        return worth, edges
