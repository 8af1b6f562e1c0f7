"""How many lines the steps of a plan take on paper, roughly: what is told a second time is told in short."""

from __future__ import annotations

from faulttree.book.model import Action, Check
from faulttree.workshop.graph import HELP
from faulttree.workshop.legs import Telling, telling
from faulttree.workshop.plan import Plan
from faulttree.workshop.ways import Step

SIGNS = 93
"""Signs on a line of one column."""

FRAME, HELP_LINES = 1.2, 3.0
"""Lines of the frame and the space around it; the call for help."""

HEAD, BOX, MOVES, FOLLOWING, READING, WAY, BACK = 50, 45, 40, 100, 150, 8, 60
"""Signs of a name with its minutes, of cautions, of set-ups, of what is due after a repair, of a limit, of "go to"; of
looking back."""

SHORT_CHECK = 0.2
"""Lines for a check after a repair that is told elsewhere: most are due after several repairs."""

HALF = 0.4
"""What is left of the last line of a paragraph, in the mean."""


class Room:
    """Lines of the steps of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._tellings: dict[Step, tuple[Telling, int, int]] = {}

    def taken(self) -> float:
        """Lines of all steps that can be reached."""
        return sum(self.lines().values())

    def lines(self) -> dict[int, float]:
        """Lines of each step; of those that are the same the first is told in full."""
        seen: set[Telling] = set()
        found: dict[int, float] = {}
        behind = self.plan.behind()
        for n in self.plan.order():
            node = self.plan.nodes[n]
            if n == HELP:
                found[n] = HELP_LINES
                continue
            key, signs, labels = self._telling(node.step)
            ways = WAY * len(set(node.to))
            if key in seen:
                ways += 2 * len(node.to)
                back = node.step.kind == "check" and self.plan.looks_back(n, behind[n])
                found[n] = FRAME + (self._lines(BACK + ways) if back else self._brief(node.step, ways))
            else:
                found[n] = FRAME + self._lines(signs + self._box(node.step)) + self._lines(labels + ways)
            seen.add(key)
            found[n] += self._following(node.step, seen)
        return found

    def _following(self, step: Step, seen: set[Telling]) -> float:
        """Lines of the checks after a repair that no step or repair before it tells."""
        total = 0.0
        for name in self.plan.facts.due[step.place] if step.kind == "act" else ():
            check = self.plan.round.book.checks[name]
            key = telling(check)
            total += SHORT_CHECK if key in seen else self._lines(self._signs(check))
            seen.add(key)
        return total

    def _brief(self, step: Step, ways: int) -> float:
        box = self._box(step)
        return self._lines(HEAD + box + (MOVES if box else 0) + (FOLLOWING if step.kind == "act" else 0) + ways)

    def _lines(self, signs: int) -> float:
        return signs / SIGNS + HALF

    def _box(self, step: Step) -> int:
        return 0 if step.kind == "check" and self.plan.job.checks[step.place].kind == "ask" else BOX

    def _telling(self, step: Step) -> tuple[Telling, int, int]:
        """What is told of a step, the signs of that in full, and those of what it may show."""
        found = self._tellings.get(step)
        if found is None:
            item = self.plan.item(step)
            found = self._tellings[step] = telling(item), self._signs(item), _labels(item)
        return found

    def _signs(self, item: Check | Action) -> int:
        signs = HEAD + len(" ".join(item.how)) + sum(len(self.plan.round.book.equipment[e]) + 3 for e in item.equipment)
        if isinstance(item, Action):
            return signs + MOVES + FOLLOWING + len("; ".join(item.parts))
        signs += len(item.ask or "") + (READING if item.reading is not None else 0)
        return signs if item.kind == "ask" else signs + MOVES


def _labels(item: Check | Action) -> int:
    if isinstance(item, Action):
        return 30
    stops = sum(60 + 25 * len(o.bars) for o in item.outcomes if o.bars)
    return stops + sum(len(o.label) + 3 for o in item.outcomes)
