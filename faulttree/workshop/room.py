"""How many lines the steps of a plan take on paper, roughly: what several want is told once, and shared among them."""

from __future__ import annotations

from faulttree.advice import cautions
from faulttree.book.model import Action, Check
from faulttree.workshop.graph import HELP
from faulttree.workshop.legs import Telling, telling
from faulttree.workshop.plan import Plan
from faulttree.workshop.ways import Step

SIGNS, WIDE = 95, 105
"""Signs on a line of a step, and of what stands at the end of the paper."""

AS_COUNTED = 1.35
"""Lines on paper for one of a step as it is counted here."""

FRAME, HELP_LINES = 1.0, 3.0
"""Lines of the frame and the space around it; the call for help."""

HEAD, BOX, MOVES, FOLLOWING, READING, WAY, BACK, AGAIN = 50, 45, 40, 100, 150, 8, 60, 40
"""Signs of a name with its minutes, of cautions, of set-ups, of what is due after a repair, of a limit, of "go to"; of
looking back; of doing it twice."""

SHORT_CHECK = 0.2
"""Lines for a check after a repair that is told elsewhere: most are due after several repairs."""

HALF, LEFT = 0.4, 0.7
"""What is left of the last line of a paragraph, in the mean; that with the space around it."""


Shared = dict[tuple[object, ...], float]
"""Lines of what is told once for all steps that want it, by what it is."""


class Room:
    """Lines of the steps of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.book = plan, plan.round.book
        self._tellings: dict[Step, tuple[Telling, int, int]] = {}
        self._wanted: dict[Step, Shared] = {}

    def taken(self) -> float:
        """Lines of all steps that can be reached."""
        return sum(self.lines().values())

    def lines(self) -> dict[int, float]:
        """Lines of each step, with its share of what is told once for several: how, cautions, set-ups, proofs."""
        found: dict[int, float] = {}
        users: dict[tuple[object, ...], list[int]] = {}
        lines: Shared = {}
        behind = self.plan.behind()
        for n in self.plan.order():
            node = self.plan.nodes[n]
            if n == HELP:
                found[n] = HELP_LINES
                continue
            ways = WAY * len(set(node.to)) + (AGAIN if node.step.twice else 0)
            if self.plan.looks_back(n, behind[n]):
                found[n] = AS_COUNTED * (FRAME + self._lines(BACK + ways + 2 * len(node.to)))
                continue
            brief = self._brief(node.step, ways + 2 * len(node.to))
            found[n] = AS_COUNTED * (FRAME + brief + SHORT_CHECK * len(self._due(node.step)))
            key, signs, labels = self._telling(node.step)
            full = self._lines(signs + self._box(node.step)) + self._lines(labels + ways)
            for what, many in (self._wants(node.step) | {("step", key): AS_COUNTED * max(full - brief, 0.0)}).items():
                users.setdefault(what, []).append(n)
                lines[what] = max(lines.get(what, 0.0), many)
        for what, ns in users.items():
            if what[0] == "due" and ("step", what[1]) in users:
                continue  # told there
            for n in ns:
                found[n] += lines[what] / len(ns)
        return found

    def _wants(self, step: Step) -> Shared:
        """What a step wants told elsewhere on the paper: cautions, set-ups, the checks after a repair."""
        if step not in self._wanted:
            item, book, plan = self.plan.item(step), self.book, self.plan
            due = [book.checks[name] for name in self._due(step)]
            found: Shared = {("due", telling(check)): self._signs(check) / WIDE + LEFT for check in due}
            for one in (item, *due):
                needs = sorted(plan.round.advisor.moves.closure(one.needs))
                for condition in (book.conditions[name] for name in needs):
                    told = f"{condition.name}{condition.set_up}{condition.restore}"
                    found["set-up", condition.id] = len(told) / WIDE + LEFT
                for caution in self._cautions(one, needs):
                    found["caution", caution] = len(book.cautions[caution].text) / WIDE + LEFT
            self._wanted[step] = found
        return self._wanted[step]

    def _cautions(self, item: Check | Action, needs: list[str]) -> tuple[str, ...]:
        gates, symptoms = self.plan.round.steps.gates, self.plan.round.steps.symptoms
        if isinstance(item, Check):
            return cautions.of_check(self.book, gates, item, needs, symptoms)
        return cautions.of_action(self.book, item, needs, symptoms)

    def _due(self, step: Step) -> list[str]:
        return list(self.plan.facts.due[step.place]) if step.kind == "act" else []

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
    stops = sum(30 + 8 * len(o.bars) for o in item.outcomes if o.bars)
    return stops + sum(len(o.label) + 3 for o in item.outcomes)
