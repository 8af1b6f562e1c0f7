"""How many lines the steps of a plan take on paper, roughly: what is told a second time is told in short."""

from __future__ import annotations

from collections.abc import Sequence

from faulttree.book.model import Check
from faulttree.workshop.plan import HELP, Plan
from faulttree.workshop.ways import Step

SIGNS = 100
"""Signs on a line of one column."""

HEAD, BOX, MOVES, FOLLOWING, HELP_LINES = 2.0, 1.5, 1.0, 1.0, 4.0
"""Lines of the frame with the name, of the cautions, of set-ups, of what is due after a repair; the call for help."""


class Room:
    """Lines of the steps of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    def taken(self) -> float:
        """Lines of all steps that can be reached."""
        return sum(self.lines().values())

    def lines(self) -> dict[int, float]:
        """Lines of each step; of those that are the same the first is told in full."""
        seen: set[tuple[str, ...]] = set()
        found = {}
        for n in self.plan.order():
            node = self.plan.nodes[n]
            if n == HELP:
                found[n] = HELP_LINES
                continue
            how = tuple(self.plan.item(node.step).how)
            found[n] = self._text(node.step, how in seen) + self._frame(node.step) + _ways(node.to)
            seen.add(how)
        return found

    def _frame(self, step: Step) -> float:
        if step.kind == "act":
            return HEAD + BOX + MOVES + FOLLOWING
        return HEAD if self.plan.job.checks[step.place].kind == "ask" else HEAD + BOX + MOVES

    def _text(self, step: Step, told: bool) -> float:
        """Lines of how it is done."""
        item = self.plan.item(step)
        signs = 0 if told else len(" ".join(item.how))
        if isinstance(item, Check):
            signs += len(item.ask or "") + (160 if item.reading is not None else 0)
        else:
            signs += len("; ".join(item.parts))
        return signs / SIGNS


def _ways(to: Sequence[int]) -> float:
    return float(len(set(to)))
